//! What is known of the server that the app came from, and how things stand with it.

use std::collections::{BTreeMap, BTreeSet};

use goldward_journal::Uuid;
use goldward_journal::sync::{Aside, Conflict, LogDone};
use leptos::prelude::*;
use serde_json::Value;

use super::db::{self, Account};

/// How things stand with the server.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) enum Standing {
    /// Not asked yet, or no server of ours.
    #[default]
    None,
    Busy,
    /// In step since then.
    Done(u64),
    /// Everything was asked for, and some logs are not in step.
    Apart,
    Offline,
    /// Somebody is signed in, and the logs here are nobody's: which of them are theirs is to be said first.
    Claim(Uuid),
    /// The server knows somebody else than the one whose logs these are.
    Other,
    /// It wants a name and a password.
    LogIn,
    Refused(String),
}

/// What is known of the other side.
#[derive(Clone, Copy)]
pub(super) struct Peer {
    pub(super) running: StoredValue<bool>,
    /// Somebody asked while it was running.
    pub(super) again: StoredValue<bool>,
    /// Something was written, and will be sent soon.
    pub(super) soon: StoredValue<bool>,
    pub(super) ticks: StoredValue<u32>,
    /// What the last exchange came to.
    pub(super) logs: RwSignal<BTreeMap<Uuid, LogDone>>,
    /// What is set aside.
    pub(super) aside: RwSignal<Vec<Aside>>,
    /// What two devices changed apart, the latest last.
    pub(super) conflicts: RwSignal<Vec<Conflict>>,
    /// Logs that may only be read.
    pub(super) readers: RwSignal<BTreeSet<Uuid>>,
    /// Logs that were left.
    pub(super) left: RwSignal<BTreeSet<Uuid>>,
    /// Whose logs these are.
    pub(super) account: StoredValue<Option<Account>>,
    /// The name that somebody signed in with.
    pub(super) name: StoredValue<String>,
    pub(super) log_out: StoredValue<bool>,
    /// Accounts that have signed out and left their logs here.
    pub(super) kept: RwSignal<Vec<Account>>,
    /// What the server has beside the logs, as it tells it: the `logs` that it lists, the `roster` of groups; and the `group` that is shown.
    pub(super) told: RwSignal<Value>,
    /// Whose groups and notes are looked at.
    pub(super) beside: StoredValue<Option<Uuid>>,
    /// How often somebody has signed in here since the start.
    pub(super) signed: RwSignal<u32>,
}

impl Peer {
    pub(super) fn new(opened: &db::Opened) -> Self {
        let (aside, readers, left) = (opened.aside.clone(), opened.readers.clone(), opened.left.clone());
        Self {
            account: StoredValue::new(opened.account.clone()),
            name: StoredValue::new(String::new()),
            log_out: StoredValue::new(opened.log_out),
            kept: RwSignal::new(opened.kept.clone()),
            signed: RwSignal::new(0),
            told: RwSignal::new(Value::Null),
            beside: StoredValue::new(None),
            running: StoredValue::new(false),
            again: StoredValue::new(false),
            soon: StoredValue::new(false),
            ticks: StoredValue::new(0),
            logs: RwSignal::new(BTreeMap::new()),
            aside: RwSignal::new(aside),
            conflicts: RwSignal::new(Vec::new()),
            readers: RwSignal::new(readers),
            left: RwSignal::new(left),
        }
    }

    /// Shows what was set aside.
    pub(super) fn show(self, aside: &[Aside]) {
        if !aside.is_empty() {
            self.aside.update(|all| all.extend(aside.iter().filter(|a| !all.contains(a)).cloned().collect::<Vec<_>>()));
        }
    }
}
