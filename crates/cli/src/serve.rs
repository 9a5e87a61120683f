//! `goldward serve`: the server for several devices, a club or a federation.

use std::io::Read as _;
use std::net::SocketAddr;
use std::path::PathBuf;

use clap::Args;
use goldward_journal::Uuid;
use goldward_server::auth::{fresh_id, hash_password};
use goldward_server::{Config, ServeError};
use goldward_store::who::{Account, AddAccount, FindAccount, GiveLog};
use goldward_store::{Backend as _, Place, Store};

use crate::failure::{EXIT_FINE, Failure, Problem};
use crate::log::{cannot_store, demo};
use crate::terminal::Terminal;

/// Options of `goldward serve`.
#[derive(Debug, Args)]
#[command(after_help = "\
On 127.0.0.1 nobody needs an account. On any other address everybody logs in, so accounts are added first; put a proxy that
speaks HTTPS in front and add --https.

Examples:
  goldward serve                                        for this machine, log in goldward.db
  goldward serve --demo                                 with an invented archer's log
  goldward serve --add-account anna < password.txt
  goldward serve --addr 0.0.0.0:8017 --https --db postgres://goldward@db/goldward")]
pub struct ServeArgs {
    /// Where to listen
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:8017")]
    pub addr: SocketAddr,
    /// File of the logs, or a postgres:// address
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db")]
    pub db: Place,
    /// Folder of the built web app [default: build/web when it is there]
    #[arg(long, value_name = "DIR")]
    pub web: Option<PathBuf>,
    /// Browsers come over HTTPS, through a proxy: send cookies over nothing else
    #[arg(long)]
    pub https: bool,
    /// Put an invented archer's log into a store that has none
    #[arg(long)]
    pub demo: bool,
    /// Add an account, its password read from standard input, and stop
    #[arg(long, value_name = "NAME", help_heading = "Accounts")]
    pub add_account: Option<String>,
    /// With --add-account: a log written before there were accounts becomes this account's
    #[arg(long, value_name = "ARCHER", help_heading = "Accounts", requires = "add_account")]
    pub give_log: Option<Uuid>,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|e| Failure::Internal(format!("no threads: {e}")))?;
    runtime.block_on(async {
        let store = Store::open(&args.db).await.map_err(|e| cannot_store(&e))?;
        match &args.add_account {
            Some(name) => add_account(&store, name, args.give_log, terminal).await,
            None => serve(store, args, terminal).await,
        }
    })
}

async fn add_account(
    store: &Store,
    name: &str,
    give: Option<Uuid>,
    terminal: &mut Terminal<'_>,
) -> Result<u8, Failure> {
    let wrong =
        |message: String, remedy: &str| Failure::data("no account was added", Problem::new("", message, remedy));
    if name.trim() != name || name.is_empty() || name.chars().count() > 100 || name.chars().any(char::is_control) {
        return Err(wrong("the name cannot be used".to_owned(), "1 to 100 characters without spaces around them"));
    }
    let mut password = String::new();
    terminal
        .input
        .take(2000)
        .read_to_string(&mut password)
        .map_err(|_| wrong("the password cannot be read".to_owned(), "write it to standard input"))?;
    let password = password.lines().next().unwrap_or_default();
    let hash = hash_password(password).map_err(|e| wrong(e, "write a longer one to standard input"))?;
    let id = fresh_id();
    let account = Account { id, name: name.to_owned(), password: hash };
    store.run(AddAccount(account)).await.map_err(|e| cannot_store(&e))?;
    let mut said = format!("account {name} added\n");
    if let Some(archer) = give {
        let given = store.run(GiveLog { archer, account: id }).await.map_err(|e| cannot_store(&e))?;
        said.push_str(if given { "the log is now its own\n" } else { "there is no such log without an owner\n" });
    }
    debug_assert!(store.run(FindAccount(name.to_owned())).await.is_ok_and(|a| a.is_some()));
    terminal.out.write_all(said.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

async fn serve(store: Store, args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    if args.demo {
        demo::fill(&store, goldward_server::clock::now_ms()).await.map_err(|e| cannot_store(&e))?;
    }
    let web = args.web.clone().or_else(|| Some(PathBuf::from("build/web")).filter(|p| p.join("index.html").is_file()));
    if let Some(folder) = web.as_ref().filter(|w| !w.join("index.html").is_file()) {
        let problem = Problem::new("--web", format!("{} has no index.html", folder.display()), "build the app first");
        return Err(Failure::Usage(problem));
    }
    let config = Config { addr: args.addr, web, secure_cookies: args.https };
    goldward_server::log_to_stderr();
    let mut told = Ok(());
    let listening = |addr: SocketAddr| {
        let text = format!("listening on http://{addr}\n");
        told = terminal.out.write_all(text.as_bytes()).and_then(|()| terminal.out.flush());
    };
    let done = goldward_server::serve(store, config, listening, goldward_server::stop_signal()).await;
    told.map_err(|e| Failure::from_write(&e))?;
    match done {
        Ok(()) => Ok(EXIT_FINE),
        Err(ServeError::Store(e)) => Err(cannot_store(&e)),
        Err(e @ ServeError::NoAccounts(_)) => Err(Failure::Usage(Problem::from_core("--addr", &e))),
        Err(e) => Err(Failure::data("the server does not run", Problem::new("", e.to_string(), ""))),
    }
}
