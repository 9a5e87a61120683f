//! `goldward serve`: the server for several devices, a club or a federation.

use std::net::SocketAddr;
use std::path::PathBuf;

use clap::Args;
use goldward_server::{Config, HAS_APP, IpNet, Listening, ServeError};
use goldward_store::{Place, Store};

use crate::failure::{EXIT_FINE, Failure, Fault, said};
use crate::log::{cannot_store, demo};
use crate::reach;
use crate::terminal::Terminal;
use goldward_report::words::{Done, Wrong};

/// Options of `goldward serve`.
#[derive(Debug, Args)]
#[command(after_help = "\
On 127.0.0.1 nobody needs an account. On any other address everybody logs in, so accounts are added first; put a proxy that
speaks HTTPS in front and add --https.

Examples:
  goldward serve                                        for this machine, log in goldward.db
  goldward serve --demo                                 with an invented archer's log
  goldward accounts add anna < password.txt
  goldward serve --https --trusted-proxy 127.0.0.1      behind a proxy on this machine: docs/club.md
  goldward serve --addr 0.0.0.0:8017 --https --db postgres://goldward@db/goldward")]
pub struct ServeArgs {
    /// Where to listen
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:8017")]
    pub addr: SocketAddr,
    /// File of the logs, or a postgres:// address
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db")]
    pub db: Place,
    /// Folder of the built web app [default: the app inside the program, else build/web when it is there]
    #[arg(long, value_name = "DIR")]
    pub web: Option<PathBuf>,
    /// Browsers come over HTTPS, through a proxy: send cookies over nothing else
    #[arg(long)]
    pub https: bool,
    /// Put an invented archer's log into a store that has none
    #[arg(long)]
    pub demo: bool,
    /// Proxies that are believed when they say where a request comes from, such as 127.0.0.1 or 10.0.0.0/8; can be repeated
    #[arg(long, value_name = "ADDRESS", value_parser = parse_net)]
    pub trusted_proxy: Vec<IpNet>,
    /// Tell numbers for Prometheus at /metrics of this address
    #[arg(long, value_name = "ADDRESS")]
    pub metrics: Option<SocketAddr>,
    /// Most connections at once
    #[arg(long, value_name = "N", default_value_t = 800, value_parser = clap::value_parser!(u32).range(8..=100_000))]
    pub connections: u32,
    /// Most megabytes that an account may keep
    #[arg(long, value_name = "MB", default_value_t = 1000, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    pub quota: u64,
}

fn parse_net(text: &str) -> Result<IpNet, String> {
    let wrong = || "write an address or a network, such as 127.0.0.1, ::1 or 10.0.0.0/8".to_owned();
    text.parse::<IpNet>().or_else(|_| text.parse::<std::net::IpAddr>().map(IpNet::from)).map_err(|_| wrong())
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    // Each thread that has had memory keeps some: few do all that blocks.
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .max_blocking_threads(16)
        .enable_all()
        .build()
        .map_err(|e| Failure::Internal(format!("no threads: {e}")))?;
    runtime.block_on(async {
        let store = Store::open(&args.db).await.map_err(|e| cannot_store(&args.db, &e))?;
        serve(store, args, terminal).await
    })
}

async fn serve(store: Store, args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    if args.demo {
        demo::fill(&store, goldward_server::clock::now_ms()).await.map_err(|e| cannot_store(&args.db, &e))?;
    }
    let built = || Some(PathBuf::from("build/web")).filter(|p| !HAS_APP && p.join("index.html").is_file());
    let web = args.web.clone().or_else(built);
    if let Some(folder) = web.as_ref().filter(|w| !w.join("index.html").is_file()) {
        return Err(Failure::usage("--web", said(Wrong::NoIndex, [folder.display().into()])));
    }
    let mut config = Config::new(args.addr);
    config.web = web;
    config.https = args.https;
    config.metrics = args.metrics;
    config.trusted_proxies.clone_from(&args.trusted_proxy);
    config.most_connections = args.connections as usize;
    config.quota.bytes = args.quota * 1_000_000;
    goldward_server::log_to_stderr();
    let mut told = Ok(());
    let listening = |at: Listening| {
        let l = terminal.language();
        let numbers = |m| Done::NumbersAt.with(l, &[&format!("http://{m}/metrics")]) + "\n";
        let numbers = at.metrics.map(numbers).unwrap_or_default();
        let code = terminal.out_is_terminal.then_some(terminal.colour);
        let reach = reach::told(l, at.addr, args.https, &reach::addresses(), code);
        // The first line is the same in every language, for programs that wait for it.
        let text = format!("listening on http://{}\n{numbers}{reach}", at.addr);
        told = terminal.out.write_all(text.as_bytes()).and_then(|()| terminal.out.flush());
    };
    let done = goldward_server::serve(store, config, listening, goldward_server::stop_signal()).await;
    told.map_err(|e| Failure::from_write(&e))?;
    match done {
        Ok(()) => Ok(EXIT_FINE),
        Err(ServeError::Store(e)) => Err(cannot_store(&args.db, &e)),
        Err(ServeError::NoAccounts(addr)) => Err(Failure::usage("--addr", said(Wrong::NoAccounts, [addr.into()]))),
        Err(ServeError::Listen { addr, source }) => {
            let fault = Fault::from(said(Wrong::NoListen, [addr.into(), source.into()])).at("--addr");
            Err(Failure::data(Wrong::NoServer, fault))
        }
        Err(e) => Err(Failure::data(Wrong::NoServer, said(Wrong::Stopped, [e.into()]))),
    }
}
