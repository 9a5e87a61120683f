//! `goldward accounts`: who may use a server, on the machine of its store, also while the server runs.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use goldward_journal::Uuid;
use goldward_journal::sync::MOST_PULLED;
use goldward_report::words::{Done, Wrong};
use goldward_server::auth::{fresh_id, fresh_token};
use goldward_server::clock::now_ms;
use goldward_server::password::{LONGEST_PASSWORD, SHORTEST_PASSWORD, check, hash};
use goldward_server::second::{self, Shown};
use goldward_store::guardian::StandingOf;
use goldward_store::notes::{CoachNote, Notes, NotesBy};
use goldward_store::ops::{LogInfo, Logs, NameOf, Owner, Pull};
use goldward_store::roster::Roster;
use goldward_store::second::{Confirm, Prepare, RemoveSecond, SecondOf};
use goldward_store::trail::Trail;
use goldward_store::who::{
    Account, Accounts, AddAccount, AddToken, CoachedBy, Coaches, GiveLog, LogsOf, RemoveAccount, Rename, SetPassword,
    TokenKind, Tokens, is_name,
};
use goldward_store::{Backend as _, Place, Store, StoreError};
use serde::Serialize;
use serde_json::value::RawValue;
use serde_json::{Value, json};

use crate::failure::{EXIT_FINE, Failure, said};
use crate::log::{with_store, with_store_or_new};
use crate::terminal::Terminal;
use crate::there::There;
use goldward_session::problem::plain;

/// Options of `goldward accounts`.
#[derive(Debug, Args)]
#[command(after_help = "\
A password is read from the first line of standard input, so that it stands in no list of commands. Capitals make no difference
in a name. A running server knows of every change at once; the first account closes one that needed none.

Examples:
  goldward accounts add anna < password.txt
  goldward accounts add anna --give-log Ilse < password.txt    with a log written before there were accounts
  goldward accounts device anna > token.txt                    for anna's laptop: goldward log sync
  goldward accounts second-factor anna                         a code at every login; --off when it is lost
  goldward accounts export anna --out anna.json                all that is kept of her
  goldward accounts sign-up --open --room 20                   newcomers make their own accounts by its link; --off ends it
  goldward accounts guardian tim paula                         tim is under age, and paula is asked before a coach sees his log
  goldward accounts list
  goldward accounts remove anna                                her logs stay, without an owner")]
pub struct AccountsArgs {
    /// What to do.
    #[command(subcommand)]
    pub command: AccountsCommand,
    /// File of the logs, or a postgres:// address
    #[arg(long, value_name = "FILE|URL", default_value = "goldward.db", global = true)]
    pub db: Place,
}

/// What can be done with accounts.
#[derive(Debug, Subcommand)]
pub enum AccountsCommand {
    /// List the accounts with their logs, and the logs that have no owner
    List {
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },
    /// Add an account, its password read from standard input
    Add {
        /// The new account
        #[arg(value_name = "NAME")]
        name: String,
        /// A log without an owner that becomes the account's: its archer's name or id
        #[arg(long, value_name = "ARCHER")]
        give_log: Vec<String>,
    },
    /// Give an account another name
    Rename {
        /// The account
        #[arg(value_name = "NAME")]
        name: String,
        /// What it is called from now on
        #[arg(value_name = "NEW")]
        new: String,
    },
    /// Remove an account: its browsers and devices are logged out, and it coaches nobody
    Remove {
        /// The account
        #[arg(value_name = "NAME")]
        name: String,
        /// Erase its logs too, for good
        #[arg(long)]
        erase_logs: bool,
    },
    /// Set another password, read from standard input; browsers and devices log in anew
    Password {
        /// The account
        #[arg(value_name = "NAME")]
        name: String,
    },
    /// Make a device's token and print it: for goldward log sync
    Device {
        /// The account
        #[arg(value_name = "NAME")]
        name: String,
        /// What its owner will know it by
        #[arg(long, value_name = "LABEL", default_value = "goldward log sync")]
        label: String,
    },
    /// Ask for the code of an authenticator at every login of an account, or no more
    SecondFactor {
        /// The account
        #[arg(value_name = "NAME")]
        name: String,
        /// Ask no more: the authenticator is lost
        #[arg(long)]
        off: bool,
    },
    /// Write everything that is kept of an account, as JSON: its logs, devices and trail
    Export {
        /// The account
        #[arg(value_name = "NAME")]
        name: String,
        /// Write into a file [default: standard output]
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Open a link by which newcomers make their own accounts, say whether one is open, or switch it off
    SignUp {
        /// Open one and print its code; the one before it works no more
        #[arg(long, conflicts_with = "off")]
        open: bool,
        /// Most accounts that it makes [default: 30]
        #[arg(long, value_name = "N", requires = "open")]
        room: Option<u64>,
        /// Days until it ends [default: 14]
        #[arg(long, value_name = "N", requires = "open")]
        days: Option<u64>,
        /// Switch it off
        #[arg(long)]
        off: bool,
    },
    /// Let an account open and close the link for newcomers in the app
    Manager {
        /// The account
        #[arg(value_name = "NAME")]
        name: String,
        /// No more
        #[arg(long)]
        off: bool,
    },
    /// Say that an account is of somebody under age: coaches see its logs only when the guardian's account agrees
    Guardian {
        /// The account of whoever is under age
        #[arg(value_name = "NAME")]
        name: String,
        /// The guardian's account; without one nobody new sees the logs
        #[arg(value_name = "GUARDIAN")]
        guardian: Option<String>,
        /// Of age from now on
        #[arg(long, conflicts_with = "guardian")]
        off: bool,
    },
    /// Give an account a log that has no owner
    GiveLog {
        /// The account
        #[arg(value_name = "NAME")]
        name: String,
        /// The log: its archer's name or id
        #[arg(value_name = "ARCHER")]
        log: String,
    },
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &AccountsArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let there = There { db: &args.db, language: terminal.language() };
    let said = match &args.command {
        AccountsCommand::List { json } => there.list(*json)?,
        AccountsCommand::Add { name, give_log } => there.add(name, give_log, terminal)?,
        AccountsCommand::Rename { name, new } => there.rename(name, new)?,
        AccountsCommand::Remove { name, erase_logs } => there.remove(name, *erase_logs)?,
        AccountsCommand::Password { name } => there.password(name, terminal)?,
        AccountsCommand::Device { name, label } => there.device(name, label)?,
        AccountsCommand::GiveLog { name, log } => there.give_log(name, log)?,
        AccountsCommand::SecondFactor { name, off: false } => there.second_factor(name)?,
        AccountsCommand::SecondFactor { name, off: true } => there.no_second_factor(name)?,
        AccountsCommand::SignUp { open: true, room, days, .. } => there.open_sign_up(*room, *days)?,
        AccountsCommand::SignUp { off: true, .. } => there.close_sign_up()?,
        AccountsCommand::SignUp { .. } => there.sign_up()?,
        AccountsCommand::Manager { name, off } => there.manager(name, !off)?,
        AccountsCommand::Guardian { name, guardian, off } => there.guardian(name, guardian.as_deref(), *off)?,
        AccountsCommand::Export { name, out } => there.export(name, out.as_deref())?,
    };
    terminal.out.write_all(said.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

/// The hash of the password in the first line of standard input.
fn read_password(title: Wrong, name: &str, terminal: &mut Terminal<'_>) -> Result<String, Failure> {
    let mut bytes = Vec::new();
    let unread = || Failure::data(title, Wrong::PasswordUnread);
    terminal.input.take(LONGEST_PASSWORD as u64 + 10).read_to_end(&mut bytes).map_err(|_| unread())?;
    let text = String::from_utf8(bytes).map_err(|_| unread())?;
    let password = text.lines().next().unwrap_or_default();
    let weak = said(Wrong::PasswordWeak, [SHORTEST_PASSWORD.into(), LONGEST_PASSWORD.into()]);
    check(password, &[name]).map_err(|_| Failure::data(title, weak))?;
    hash(password).map_err(Failure::Internal)
}

fn must_be_name(title: Wrong, name: &str) -> Result<(), Failure> {
    if is_name(name) { Ok(()) } else { Err(Failure::data(title, Wrong::NameUnusable)) }
}

impl There<'_> {
    fn logs(&self) -> Result<Vec<(LogInfo, Option<String>)>, Failure> {
        with_store(self.db, async |store| named_logs(store).await)
    }

    /// The log without an owner that goes by that name or id.
    fn free_log(&self, title: Wrong, wanted: &str) -> Result<Uuid, Failure> {
        let logs = if self.is_new() { Vec::new() } else { self.logs()? };
        let id: Option<Uuid> = wanted.parse().ok();
        let found: Vec<_> =
            logs.iter().filter(|(l, name)| Some(l.archer) == id || name.as_deref() == Some(wanted)).collect();
        let fail = |wrong: Wrong| Err(Failure::data(title, said(wrong, [wanted.into()])));
        match found.iter().filter(|(l, _)| l.owner.is_none()).map(|(l, _)| l.archer).collect::<Vec<_>>()[..] {
            [one] => Ok(one),
            [] if found.is_empty() => fail(Wrong::NoLogOf),
            [] => fail(Wrong::LogHasOwner),
            _ => fail(Wrong::SeveralLogs),
        }
    }

    fn is_new(&self) -> bool {
        matches!(self.db, Place::File(path) if !path.exists())
    }

    fn add(&self, name: &str, give_log: &[String], terminal: &mut Terminal<'_>) -> Result<String, Failure> {
        let title = Wrong::NoAccountAdded;
        must_be_name(title, name)?;
        let give = give_log.iter().map(|l| self.free_log(title, l)).collect::<Result<Vec<_>, _>>()?;
        let password = read_password(title, name, terminal)?;
        let given = give.len();
        let op = AddAccount { account: Account { id: fresh_id(), name: name.to_owned(), password }, give };
        let done = with_store_or_new(self.db, async |store| Ok(store.run(op).await))?;
        done.map_err(|e| self.refused(title, &e))?;
        Ok(match given {
            0 => self.done(Done::AccountAdded, &[&plain(name)]),
            n => self.done(Done::AccountWithLogs, &[&plain(name), &n.to_string()]),
        })
    }

    fn rename(&self, name: &str, new: &str) -> Result<String, Failure> {
        let title = Wrong::NameAsBefore;
        must_be_name(title, new)?;
        let account = self.named(title, name)?;
        self.tell(title, Rename { account: account.id, name: new.to_owned() })?;
        Ok(self.done(Done::Renamed, &[&plain(&account.name), &plain(new)]))
    }

    fn remove(&self, name: &str, erase_logs: bool) -> Result<String, Failure> {
        let title = Wrong::NoAccountRemoved;
        let account = self.named(title, name)?;
        let logs = if erase_logs { LogsOf::Erase } else { LogsOf::Keep };
        let owned = self.tell(title, RemoveAccount { account: account.id, logs, now_ms: now_ms() })?;
        let removed = match (owned, erase_logs) {
            (0, _) => Done::RemovedLogless,
            (_, true) => Done::RemovedErased,
            (_, false) => Done::RemovedKept,
        };
        Ok(self.done(removed, &[&plain(&account.name), &owned.to_string()]))
    }

    fn password(&self, name: &str, terminal: &mut Terminal<'_>) -> Result<String, Failure> {
        let title = Wrong::PasswordAsBefore;
        let account = self.named(title, name)?;
        let password = read_password(title, &account.name, terminal)?;
        self.tell(title, SetPassword { account: account.id, password, keep: None, end_devices: true })?;
        Ok(self.done(Done::PasswordSet, &[&plain(&account.name)]))
    }

    fn device(&self, name: &str, label: &str) -> Result<String, Failure> {
        let title = Wrong::NoTokenMade;
        if label.chars().count() > 100 || label.chars().any(char::is_control) {
            return Err(Failure::data(title, Wrong::LabelUnusable));
        }
        let account = self.named(title, name)?;
        let (token, secret) = fresh_token(account.id, TokenKind::Device, label);
        self.tell(title, AddToken(token))?;
        Ok(format!("{secret}\n"))
    }

    fn second_factor(&self, name: &str) -> Result<String, Failure> {
        let title = Wrong::NoSecondSet;
        let account = self.named(title, name)?;
        let secret = second::fresh();
        let (codes, recovery) = second::recovery_codes();
        let Shown { text, uri } = second::shown(&secret, &account.name);
        // Both or neither: a secret without recovery codes would lock out whoever loses a phone.
        self.tell(title, Prepare { account: account.id, secret: secret.clone() })?;
        if !self.tell(title, Confirm { account: account.id, secret, step: 0, recovery })? {
            return Err(Failure::data(title, Wrong::RunAgain));
        }
        let told = [plain(&account.name), text, uri, codes.join("\n  ")];
        Ok(self.done(Done::SecondSet, &told.each_ref().map(String::as_str)))
    }

    fn no_second_factor(&self, name: &str) -> Result<String, Failure> {
        let title = Wrong::NothingChanged;
        let account = self.named(title, name)?;
        if self.tell(title, RemoveSecond(account.id))? {
            Ok(self.done(Done::SecondOff, &[&plain(&account.name)]))
        } else {
            Err(Failure::data(title, said(Wrong::NoSecondFactor, [account.name.as_str().into()])))
        }
    }

    /// Everything that is kept of an account, but for hashes and secrets, which say nothing of anybody.
    fn export(&self, name: &str, out: Option<&Path>) -> Result<String, Failure> {
        let title = Wrong::NothingWritten;
        let account = self.named(title, name)?;
        let id = account.id;
        let mut logs = Vec::new();
        for log in self.ask(Logs { owner: Owner::Account(id) })?.into_iter().filter(|l| l.owner == Some(id)) {
            let archer = log.archer;
            let records: Vec<Box<RawValue>> = with_store(self.db, async |store| records(store, archer).await)?;
            let coaches: Vec<_> = self
                .ask(Coaches(archer))?
                .into_iter()
                .map(|c| json!({ "account": c.account, "name": c.name, "since_ms": c.since_ms, "write": c.writes, "agreed": c.agreed, "read_ms": c.read_ms }))
                .collect();
            let notes = self.ask(Notes { archer, author: None })?.into_iter().map(|n| written(archer, n)).collect();
            logs.push(ExportedLog { archer, coaches, notes, records });
        }
        let tokens = |kind| -> Result<Vec<_>, Failure> {
            let told = self.ask(Tokens { account: id, kind, now_ms: 0 })?;
            Ok(told
                .into_iter()
                .map(|t| {
                    json!({ "id": t.id, "label": t.label, "made_ms": t.made_ms, "expires_ms": t.expires_ms, "used_ms": t.used_ms })
                })
                .collect())
        };
        let coaches: Vec<_> = self
            .ask(CoachedBy(id))?
            .into_iter()
            .map(|(archer, since_ms, write)| json!({ "archer": archer, "since_ms": since_ms, "write": write }))
            .collect();
        let trail: Vec<_> = self
            .ask(Trail(id))?
            .into_iter()
            .map(|e| json!({ "at_ms": e.at_ms, "what": e.what, "about": e.about }))
            .collect();
        let second = self.ask(SecondOf(id))?;
        let standing = self.ask(StandingOf(id))?.unwrap_or_default();
        let names = |all: Vec<(Uuid, String)>| all.into_iter().map(|(_, name)| name).collect::<Vec<_>>();
        let groups =
            |(archer, words): (Uuid, String)| json!({ "archer": archer, "groups": words.lines().collect::<Vec<_>>() });
        let whole = Exported {
            schema: 1,
            account: json!({
                "id": id, "name": account.name, "second_factor": second.secret.is_some(), "recovery_codes_left": second.recovery,
                "manages": standing.manages, "minor": standing.minor, "guardian": standing.guardian.map(|(_, name)| name),
                "guards": names(standing.guards),
            }),
            roster: self.ask(Roster(id))?.into_iter().map(groups).collect(),
            notes_written: self.ask(NotesBy(id))?.into_iter().map(|(archer, n)| written(archer, n)).collect(),
            devices: tokens(TokenKind::Device)?,
            sessions: tokens(TokenKind::Session)?,
            coaches_of: coaches,
            trail,
            logs,
        };
        let text = serde_json::to_string(&whole).map_err(|e| Failure::Internal(e.to_string()))? + "\n";
        let Some(out) = out else { return Ok(text) };
        crate::log::write(out, &text)?;
        let records: usize = whole.logs.iter().map(|l| l.records.len()).sum();
        let numbers = [whole.logs.len(), records].map(|n| n.to_string());
        Ok(self.done(Done::Exported, &[&plain(&account.name), &out.display().to_string(), &numbers[0], &numbers[1]]))
    }

    fn give_log(&self, name: &str, log: &str) -> Result<String, Failure> {
        let title = Wrong::NoLogGiven;
        let account = self.named(title, name)?;
        let archer = self.free_log(title, log)?;
        if self.tell(title, GiveLog { archer, account: account.id })? {
            Ok(self.done(Done::LogGiven, &[&plain(log), &plain(&account.name)]))
        } else {
            Err(Failure::data(title, said(Wrong::LogHasOwner, [log.into()])))
        }
    }

    fn list(&self, json: bool) -> Result<String, Failure> {
        let accounts = self.ask(Accounts)?;
        let logs = self.logs()?;
        let mut devices = Vec::new();
        for account in &accounts {
            let now_ms = goldward_server::clock::now_ms();
            devices.push(self.ask(Tokens { account: account.id, kind: TokenKind::Device, now_ms })?.len());
        }
        let of = |owner: Option<Uuid>| logs.iter().filter(move |(l, _)| l.owner == owner);
        if json {
            let log = |(l, name): &(LogInfo, Option<String>)| serde_json::json!({ "archer": l.archer, "name": name, "records": l.digest.records });
            let accounts: Vec<_> = accounts
                .iter()
                .zip(&devices)
                .map(|(a, devices)| {
                    let logs: Vec<_> = of(Some(a.id)).map(log).collect();
                    serde_json::json!({ "id": a.id, "name": a.name, "devices": devices, "logs": logs })
                })
                .collect();
            let free: Vec<_> = of(None).map(log).collect();
            return Ok(format!(
                "{}\n",
                serde_json::json!({ "schema": 1, "accounts": accounts, "logs_without_owner": free })
            ));
        }
        let log = |(l, name): &(LogInfo, Option<String>)| {
            let name = name.as_deref().map_or_else(|| Done::Nameless.text(self.language).to_owned(), plain);
            let told = [name, l.digest.records.to_string(), l.archer.to_string()];
            format!("  {}", self.done(Done::LogLine, &told.each_ref().map(String::as_str)))
        };
        let mut text = String::new();
        for (account, devices) in accounts.iter().zip(&devices) {
            text.push_str(&self.done(Done::AccountLine, &[&plain(&account.name), &devices.to_string()]));
            text.extend(of(Some(account.id)).map(log));
        }
        if accounts.is_empty() {
            text.push_str(&self.done(Done::NoAccountsYet, &[]));
        }
        let free: String = of(None).map(log).collect();
        if !free.is_empty() {
            text.push_str(&self.done(Done::WithoutOwner, &[]));
            text.push_str(&free);
        }
        Ok(text)
    }
}

/// Everything that is kept of an account.
#[derive(Serialize)]
struct Exported {
    schema: u32,
    account: Value,
    devices: Vec<Value>,
    sessions: Vec<Value>,
    coaches_of: Vec<Value>,
    roster: Vec<Value>,
    notes_written: Vec<Value>,
    trail: Vec<Value>,
    logs: Vec<ExportedLog>,
}

#[derive(Serialize)]
struct ExportedLog {
    archer: Uuid,
    coaches: Vec<Value>,
    notes: Vec<Value>,
    /// As they are kept, tombstones too.
    records: Vec<Box<RawValue>>,
}

/// A coach's note.
fn written(archer: Uuid, note: CoachNote) -> Value {
    let CoachNote { id, name, at_ms, text, read_ms, .. } = note;
    json!({ "id": id, "archer": archer, "from": name, "at_ms": at_ms, "text": text, "read_ms": read_ms })
}

/// All records of a log in their wire form.
async fn records(store: &Store, archer: Uuid) -> Result<Vec<Box<RawValue>>, StoreError> {
    let (mut all, mut after) = (Vec::new(), 0);
    loop {
        let page = store.run(Pull { archer, after, limit: MOST_PULLED }).await?;
        for json in page.json {
            all.push(RawValue::from_string(json).map_err(|e| StoreError::Damaged(e.to_string()))?);
        }
        if !page.more {
            return Ok(all);
        }
        after = page.cursor;
    }
}

async fn named_logs(store: &Store) -> Result<Vec<(LogInfo, Option<String>)>, StoreError> {
    let mut logs = Vec::new();
    for log in store.run(Logs { owner: Owner::Anyone }).await? {
        let name = store.run(NameOf(log.archer)).await?;
        logs.push((log, name));
    }
    Ok(logs)
}
