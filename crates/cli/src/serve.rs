//! `goldward serve`: the server for several devices, a club or a federation.

use std::io::Read as _;
use std::net::SocketAddr;
use std::path::PathBuf;

use clap::Args;
use goldward_journal::Uuid;
use goldward_server::auth::{fresh_id, fresh_token, hash_password};
use goldward_server::{Config, ServeError};
use goldward_store::who::{Account, AddAccount, AddToken, FindAccount, GiveLog, SetPassword, TokenKind};
use goldward_store::{Backend as _, Place, Store, StoreError};

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
  goldward serve --add-device anna > token.txt          for anna's laptop: goldward log sync
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
    /// Set another password for an account, read from standard input, and stop; its browsers and devices log in anew
    #[arg(long, value_name = "NAME", help_heading = "Accounts", conflicts_with = "add_account")]
    pub set_password: Option<String>,
    /// Make a device's token for an account, print it, and stop: for goldward log sync
    #[arg(long, value_name = "NAME", help_heading = "Accounts", conflicts_with_all = ["add_account", "set_password"])]
    pub add_device: Option<String>,
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
        let cannot = |e: StoreError| cannot_store(&args.db, &e);
        let store = Store::open(&args.db).await.map_err(cannot)?;
        match (&args.add_account, &args.set_password) {
            (Some(name), _) => add_account(&store, name, args, terminal).await,
            (None, Some(name)) => set_password(&store, name, args, terminal).await,
            (None, None) => match &args.add_device {
                Some(name) => add_device(&store, name, args, terminal).await,
                None => serve(store, args, terminal).await,
            },
        }
    })
}

fn not_done(title: &str, message: impl Into<String>, remedy: &str) -> Failure {
    Failure::data(title, Problem::new("", message, remedy))
}

/// The hash of the password in the first line of standard input.
fn read_password(title: &str, terminal: &mut Terminal<'_>) -> Result<String, Failure> {
    let mut password = String::new();
    terminal
        .input
        .take(2000)
        .read_to_string(&mut password)
        .map_err(|_| not_done(title, "the password cannot be read", "write it to standard input"))?;
    let password = password.lines().next().unwrap_or_default();
    hash_password(password).map_err(|e| not_done(title, e, "write a longer one to standard input"))
}

async fn account_named(title: &str, store: &Store, name: &str, args: &ServeArgs) -> Result<Uuid, Failure> {
    let found = store.run(FindAccount(name.to_owned())).await.map_err(|e| cannot_store(&args.db, &e))?;
    found.map(|a| a.id).ok_or_else(|| not_done(title, format!("there is no account {name}"), "check the name"))
}

async fn add_device(store: &Store, name: &str, args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let account = account_named("no token was made", store, name, args).await?;
    let (token, secret) = fresh_token(account, TokenKind::Device, "goldward log sync");
    store.run(AddToken(token)).await.map_err(|e| cannot_store(&args.db, &e))?;
    terminal.out.write_all(format!("{secret}\n").as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

async fn set_password(store: &Store, name: &str, args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let title = "the password is as it was";
    let account = account_named(title, store, name, args).await?;
    let password = read_password(title, terminal)?;
    let op = SetPassword { account, password, keep: None, end_devices: true };
    store.run(op).await.map_err(|e| cannot_store(&args.db, &e))?;
    let said = format!("password of {name} set; its browsers and devices log in anew\n");
    terminal.out.write_all(said.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

async fn add_account(store: &Store, name: &str, args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let title = "no account was added";
    if name.trim() != name || name.is_empty() || name.chars().count() > 100 || name.chars().any(char::is_control) {
        return Err(not_done(title, "the name cannot be used", "1 to 100 characters without spaces around them"));
    }
    let hash = read_password(title, terminal)?;
    let id = fresh_id();
    let account = Account { id, name: name.to_owned(), password: hash };
    store.run(AddAccount(account)).await.map_err(|e| cannot_store(&args.db, &e))?;
    let mut said = format!("account {name} added\n");
    if let Some(archer) = args.give_log {
        let given = store.run(GiveLog { archer, account: id }).await.map_err(|e| cannot_store(&args.db, &e))?;
        said.push_str(if given { "the log is now its own\n" } else { "there is no such log without an owner\n" });
    }
    debug_assert!(store.run(FindAccount(name.to_owned())).await.is_ok_and(|a| a.is_some()));
    terminal.out.write_all(said.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

async fn serve(store: Store, args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    if args.demo {
        demo::fill(&store, goldward_server::clock::now_ms()).await.map_err(|e| cannot_store(&args.db, &e))?;
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
        Err(ServeError::Store(e)) => Err(cannot_store(&args.db, &e)),
        Err(e @ ServeError::NoAccounts(_)) => Err(Failure::Usage(Problem::from_core("--addr", &e))),
        Err(e @ ServeError::Listen { .. }) => {
            let problem = Problem::new("--addr", e.to_string(), "choose another address or port");
            Err(Failure::data("the server does not run", problem))
        }
        Err(e) => Err(Failure::data("the server does not run", Problem::new("", e.to_string(), "start it again"))),
    }
}
