//! The state of the app: the log, who is shooting, what is on the screen.

use std::collections::VecDeque;
use std::sync::Arc;

use goldward_core::matches::MatchAdvice;
use goldward_core::pace::{Answer, Pace};
use goldward_journal::sync::Aside;
use goldward_journal::{Archer, Body, Hlc, Kit, Log, Record, Uuid, Writer};
use goldward_session::log::looked_at;
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::IdbDatabase;

use super::peer::{Peer, Standing};
use super::places::Places;
use super::sift::sift;
use super::windows::Windows;
use super::{broken, db, device, offers, texts};
use crate::clock::Running;
use crate::pages::gather::odds;
use crate::prefs::Prefs;
use crate::sheet::{Sheet, learnt};
use crate::words::{self, Language, Word, fill};

/// Whether the second module, of the screens beside the line, is here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Later {
    Coming,
    Here,
    Failed,
}

/// What is on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Screen {
    Shoot,
    Explain,
    Report,
    Marks,
    Card,
    Progress,
    Pacing,
    Kit,
    Archers,
    Settings,
    Arrows,
    Compare,
    Tune,
    Aids,
    Account,
    Beside,
    Match,
}

impl Screen {
    pub(super) const ALL: [Self; 17] = [
        Self::Shoot,
        Self::Explain,
        Self::Report,
        Self::Marks,
        Self::Card,
        Self::Progress,
        Self::Pacing,
        Self::Kit,
        Self::Archers,
        Self::Settings,
        Self::Arrows,
        Self::Compare,
        Self::Tune,
        Self::Aids,
        Self::Account,
        Self::Beside,
        Self::Match,
    ];

    pub(super) fn path(self) -> &'static str {
        [
            "shoot", "explain", "report", "marks", "card", "progress", "pacing", "kit", "archers", "settings",
            "arrows", "compare", "tune", "aids", "account", "beside", "match",
        ][self as usize]
    }

    pub(super) fn title(self) -> Word {
        match self {
            Self::Shoot => Word::Shoot,
            Self::Explain => Word::Explain,
            Self::Report => Word::Report,
            Self::Marks => Word::Marks,
            Self::Card => Word::Card,
            Self::Progress => Word::Progress,
            Self::Pacing => Word::Pacing,
            Self::Kit => Word::Kit,
            Self::Archers => Word::Archers,
            Self::Settings => Word::Settings,
            Self::Arrows => Word::ByArrow,
            Self::Compare => Word::CompareTitle,
            Self::Tune => Word::TuneTitle,
            Self::Aids => Word::AidsTitle,
            Self::Account => Word::Account,
            Self::Beside => Word::Notes,
            Self::Match => Word::MatchTitle,
        }
    }

    /// The screen of an address such as `#/marks`.
    pub(super) fn of(hash: &str) -> Self {
        let name = hash.trim_start_matches(['#', '/']);
        if name.starts_with("accept/") || name.starts_with("join/") {
            return Self::Account;
        }
        Self::ALL.into_iter().find(|s| s.path() == name).unwrap_or(Self::Shoot)
    }
}

/// Where the last writes are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Saving {
    Saved,
    Saving,
    Failed(String),
}

/// One record as it was before and after an act.
#[derive(Debug, Clone)]
pub(super) struct Change {
    archer: Uuid,
    id: Uuid,
    before: Option<Body>,
    after: Body,
}

/// What belongs to one act and is undone together.
pub(super) type Act = Vec<Change>;

/// What core says of the open session, and how long it took to say.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Said {
    pub(super) answer: Option<Answer>,
    /// In a match the chances, by which the answer then is.
    pub(super) duel: Option<MatchAdvice>,
    pub(super) took_ms: f64,
}

/// A word in passing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Toast {
    pub(super) text: String,
    /// An act that can be taken back here, or done again.
    pub(super) offer: Option<Word>,
    /// Told apart from others with the same text.
    number: u32,
}

/// Everything the screens share.
#[derive(Clone, Copy)]
pub(super) struct App {
    pub(super) log: RwSignal<Log>,
    pub(super) prefs: RwSignal<Prefs>,
    /// The language of the app: one whose texts are here.
    spoken: RwSignal<Language>,
    /// The language that was asked for last.
    asked_for: StoredValue<Language>,
    pub(super) screen: RwSignal<Screen>,
    pub(super) saving: RwSignal<Saving>,
    /// Whether the log is here as a whole; of a long one the parts of all but the open session come a moment later.
    pub(super) whole: RwSignal<bool>,
    pub(super) toast: RwSignal<Option<Toast>>,
    toasts: StoredValue<u32>,
    /// How much is being asked of the server for the screen.
    pub(super) looking: RwSignal<u32>,
    /// What was asked, where a second press is wanted; empty where nothing was.
    pub(super) asked: RwSignal<String>,
    /// The clock of an end that runs, and a beat that moves what it shows.
    pub(super) clock_of_end: RwSignal<Option<Running>>,
    pub(super) beat: RwSignal<()>,
    /// The session whose form is open.
    pub(super) editing: RwSignal<Option<Uuid>>,
    pub(super) places: Places,
    pub(super) windows: Windows,
    pub(super) persisted: RwSignal<Option<bool>>,
    pub(super) later: RwSignal<Later>,
    pub(super) standing: RwSignal<Standing>,
    pub(super) peer: Peer,
    /// Grows when something has come onto the disk.
    pub(super) kept: RwSignal<u32>,
    /// What a hand is still typing, to be written before anything else is done.
    typing: StoredValue<Option<Arc<dyn Fn() + Send + Sync>>>,
    undo: RwSignal<Vec<Act>>,
    redo: RwSignal<Vec<Act>>,
    clock: StoredValue<Hlc>,
    db: StoredValue<Option<IdbDatabase>, LocalStorage>,
    queue: StoredValue<VecDeque<Record>>,
    busy: StoredValue<bool>,
    /// The open session.
    pub(super) sheet: Memo<Option<Sheet>>,
    /// What core says of it.
    pub(super) said: Memo<Said>,
}

/// The state, from any component.
pub(super) fn app() -> App {
    expect_context::<App>()
}

/// Archers of this device in the order of their names.
fn archers(log: RwSignal<Log>) -> Vec<(Uuid, Archer)> {
    let mut all = log.with(|log| {
        log.of(|b| if let Body::Archer(a) = b { Some(a) } else { None })
            .into_iter()
            // In a log of another archer it would speak for nobody.
            .filter(|(r, _)| r.id == r.archer)
            .map(|(r, a)| (r.id, a.clone()))
            .collect::<Vec<_>>()
    });
    all.sort_by(|a, b| (&a.1.name, a.0).cmp(&(&b.1.name, b.0)));
    all
}

/// The archer shooting now.
fn shooting(log: RwSignal<Log>, prefs: RwSignal<Prefs>) -> Option<(Uuid, Archer)> {
    let id: Option<Uuid> = prefs.with(|p| p.archer.as_ref().and_then(|a| a.parse().ok()));
    let all = archers(log);
    all.iter().find(|(a, _)| Some(*a) == id).or(all.first()).cloned()
}

impl App {
    pub(super) fn new(opened: db::Opened) -> Self {
        let prefs = Prefs::read(&opened.prefs);
        let mut clock = Hlc::new(opened.device);
        // Only the clocks of logs that may be written: what others write cannot carry this one off.
        let own = opened.log.archers().into_iter().filter(|a| !opened.readers.contains(a));
        for stamp in own.filter_map(|a| opened.log.latest(a)) {
            clock.observe(stamp, device::now_ms());
        }
        if let Some(latest) = opened.clock {
            clock.observe(latest, device::now_ms());
        }
        let peer = Peer::new(&opened);
        let whole = RwSignal::new(!opened.more);
        let saving = match &opened.db {
            Ok(_) => Saving::Saved,
            Err(why) => Saving::Failed(why.clone()),
        };
        let log = RwSignal::new(opened.log);
        let prefs = RwSignal::new(prefs);
        let session = Memo::new(move |_| prefs.with(|p| p.session.as_ref().and_then(|s| s.parse::<Uuid>().ok())));
        let shooting = Memo::new(move |_| shooting(log, prefs).map(|(archer, _)| archer));
        let bare = Memo::new(move |_| log.with(|l| Sheet::of(l, shooting.get()?, session.get()?)));
        // Learnt once a session, since it reads all sessions before it; anew when the kit says something else.
        let basis =
            Memo::new(move |_| Some((shooting.get()?, bare.with(|s| s.as_ref().map(|s| (s.id, s.kit.clone())))?)));
        let learnt = Memo::new(move |_| {
            let (archer, (id, _)) = basis.get()?;
            let own = prefs.with(|p| p.kit_spread);
            if own || !whole.get() { None } else { log.with_untracked(|l| learnt(l, archer, id)) }
        });
        let odds = Memo::new(move |_| {
            basis
                .get()
                .filter(|_| whole.get())
                .map(|(archer, (id, _))| log.with_untracked(|l| odds(l, archer, id)))
                .unwrap_or_default()
        });
        let sheet = Memo::new(move |_| {
            let (learnt, odds) = (learnt.get(), odds.get());
            bare.get().map(|s| Sheet { learnt, odds, ..s })
        });
        let pace: StoredValue<Option<Pace>> = StoredValue::new(None);
        let later = RwSignal::new(Later::Coming);
        let said = Memo::new(move |_| {
            let begun = device::ticks_ms();
            let (mut answer, mut duel) = (None, None);
            sheet.with(|sheet| {
                // Before all of the log is here it is not known what it tells of the archer.
                let Some(sheet) = sheet.as_ref().filter(|_| whole.get()) else { return };
                answer = pace
                    .try_update_value(|pace| {
                        sheet.carry(pace)?;
                        pace.as_mut()?.answer().ok()
                    })
                    .flatten();
                // Matches are reckoned with in the second module.
                if sheet.duel.is_some() && later.get() == Later::Here {
                    duel = answer.as_mut().and_then(|answer| super::judge::decide(sheet, answer));
                }
            });
            Said { answer, duel, took_ms: device::ticks_ms() - begun }
        });
        let wanted = prefs.with_untracked(texts::wanted);
        let language = if words::is_here(wanted) { wanted } else { Language::English };
        let told =
            |word: Word, value: &str| Toast { text: fill(word.text(language), &[value]), offer: None, number: 0 };
        let toast = if opened.unreadable > 0 {
            Some(told(Word::Unreadable, &opened.unreadable.to_string()))
        } else {
            (language != wanted).then(|| told(texts::missing(), wanted.name()))
        };
        Self {
            log,
            prefs,
            spoken: RwSignal::new(language),
            asked_for: StoredValue::new(language),
            screen: RwSignal::new(Screen::of(&device::window().location().hash().unwrap_or_default())),
            saving: RwSignal::new(saving),
            whole,
            toast: RwSignal::new(toast),
            toasts: StoredValue::new(0),
            looking: RwSignal::new(0),
            asked: RwSignal::new(String::new()),
            clock_of_end: RwSignal::new(None),
            beat: RwSignal::new(()),
            editing: RwSignal::new(None),
            places: Places::new(),
            windows: Windows::new(opened.account.as_ref().map(|a| a.id)),
            persisted: RwSignal::new(None),
            later,
            standing: RwSignal::new(Standing::None),
            peer,
            kept: RwSignal::new(0),
            typing: StoredValue::new(None),
            undo: RwSignal::new(Vec::new()),
            redo: RwSignal::new(Vec::new()),
            clock: StoredValue::new(clock),
            db: StoredValue::new_local(opened.db.ok()),
            queue: StoredValue::new(VecDeque::new()),
            busy: StoredValue::new(false),
            sheet,
            said,
        }
    }

    /// Reads what there is of the log beyond what was read `first`, a little at a time, so that the page answers meanwhile.
    pub(super) async fn read_rest(self, first: usize) {
        let Some(db) = self.database() else { return };
        let mut unreadable = 0;
        if !self.whole.get_untracked() {
            let mut slices = db::Slices::new(db.clone());
            loop {
                device::breathe().await;
                match slices.next().await {
                    // Nobody looks at it before it is whole: what is drawn need not be drawn anew for each part.
                    Ok(Some((log, bad))) => {
                        unreadable += bad;
                        self.log.update_untracked(|all| all.extend(log.records().cloned()));
                    }
                    Ok(None) => break,
                    Err(why) => return self.saving.set(Saving::Failed(why)),
                }
            }
            self.log.with_untracked(|log| {
                let own = log.archers().into_iter().filter(|a| untrack(|| self.may_write(*a)));
                let latest = own.filter_map(|a| log.latest(a));
                self.clock.update_value(|c| latest.for_each(|stamp| c.observe(stamp, device::now_ms())));
            });
            self.log.notify();
            // What is learnt for the open session rests on all before it.
            let open = untrack(|| self.sheet.with(|s| s.as_ref().map(|s| s.id)));
            if let Some((id, (archer, _))) = open.zip(untrack(|| self.archer())) {
                let before = self.log.with_untracked(|log| looked_at(log, archer, id));
                sift(self.log, archer, &before, false, |_| true).await;
            }
            self.whole.set(true);
            if unreadable > 0 {
                self.say(self.f(Word::Unreadable, &[&unreadable.to_string()]));
            }
        }
        let open = self.prefs.with_untracked(|p| p.session.clone()).unwrap_or_default();
        let of_first = self.first(&open);
        if first > of_first.len() + 1_000 || first < of_first.len() {
            let _ = db::keep_first(&db, &of_first, &open).await;
        }
    }

    /// What of the log is read first when `session` is open.
    fn first(self, session: &str) -> Vec<Record> {
        let id: Option<Uuid> = session.parse().ok();
        self.log.with_untracked(|log| {
            let of = |archer: Uuid| log.heads(archer).chain(id.into_iter().flat_map(move |id| log.parts(archer, id)));
            log.archers().into_iter().flat_map(of).cloned().collect()
        })
    }

    /// Whether nothing has been shot in that session.
    fn is_bare(self, session: &str) -> bool {
        let Ok(id) = session.parse::<Uuid>() else { return false };
        self.log.with_untracked(|log| log.archers().into_iter().all(|a| log.parts(a, id).next().is_none()))
    }

    /// Keeps what the next start reads first in step with which session is open.
    pub(super) fn keep_first(self) {
        let open = Memo::new(move |_| self.prefs.with(|p| p.session.clone()).unwrap_or_default());
        Effect::new(move |before: Option<()>| {
            let open = open.get();
            let long = self.log.with_untracked(|l| l.len() > db::LONG as usize);
            let apart = before.is_some() && long && self.whole.get_untracked();
            if let Some(db) = self.database().filter(|_| apart) {
                if self.is_bare(&open) {
                    let _ = db::begin_first(&db, open);
                    return;
                }
                let records = self.first(&open);
                spawn_local(async move {
                    let _ = db::keep_first(&db, &records, &open).await;
                });
            }
        });
    }

    /// The language of the app.
    pub(super) fn language(self) -> Language {
        self.spoken.get()
    }

    /// Speaks `language` from now on, as soon as its texts are here; when they cannot be had, says so and stays.
    pub(super) fn speak(self, language: Language) {
        self.asked_for.set_value(language);
        spawn_local(async move {
            let here = texts::have(language).await;
            // Meanwhile another one may have been asked for.
            if self.asked_for.get_value() != language {
                return;
            }
            if here {
                self.prefer(|p| p.language = language.code().to_owned());
                self.spoken.set(language);
            } else {
                self.say(self.f(texts::missing(), &[language.name()]));
                // What shows the choice is drawn anew, as it was.
                self.spoken.notify();
            }
        });
    }

    /// A word in the language of the app.
    pub(super) fn t(self, word: Word) -> &'static str {
        word.text(self.language())
    }

    /// A sentence with its gaps filled.
    pub(super) fn f(self, word: Word, values: &[&str]) -> String {
        fill(self.t(word), values)
    }

    pub(super) fn imperial(self) -> bool {
        self.prefs.with(|p| p.imperial)
    }

    /// Changes preferences and keeps them.
    pub(super) fn prefer(self, change: impl FnOnce(&mut Prefs)) {
        self.prefs.update(change);
        // In the database, not in the browser's small storage, which is written late: a killed browser would forget the session.
        let text = self.prefs.with_untracked(Prefs::text);
        if let Some(db) = self.database() {
            spawn_local(async move { db::remember(&db, db::PREFS, &text).await });
        }
    }

    /// Goes to another place of the app; the Back key leads back to this one.
    pub(super) fn go(self, screen: Screen) {
        self.editing.set(None);
        if self.screen.get_untracked() != screen {
            self.places.go(screen.path());
            self.screen.set(screen);
        }
    }

    pub(super) fn say(self, text: String) {
        self.show(text, None);
    }

    /// Says what was done, and offers to take it back.
    pub(super) fn say_undo(self, text: String) {
        self.show(text, Some(Word::Undo));
    }

    fn show(self, text: String, offer: Option<Word>) {
        let number = self.toasts.try_update_value(|n| {
            *n += 1;
            *n
        });
        let number = number.unwrap_or_default();
        self.toast.set(Some(Toast { text, offer, number }));
        let toast = self.toast;
        let later = std::time::Duration::from_secs(if offer.is_some() { 10 } else { 4 });
        // A later word is not taken away by the clock of an earlier one.
        set_timeout(
            move || {
                if toast.with_untracked(|t| t.as_ref().is_some_and(|t| t.number == number)) {
                    toast.set(None);
                }
            },
            later,
        );
    }

    /// Whether what asks that was pressed for the second time, or asks nothing. A question lapses after a while, or when another thing is
    /// pressed that asks or does something.
    pub(super) fn is_sure(self, question: String) -> bool {
        let sure = question.is_empty() || self.asked.with_untracked(|a| *a == question);
        let next = if sure { String::new() } else { question };
        self.asked.set(next.clone());
        if !sure {
            let asked = self.asked;
            set_timeout(
                move || {
                    if asked.with_untracked(|a| *a == next) {
                        asked.set(String::new());
                    }
                },
                std::time::Duration::from_secs(10),
            );
        }
        sure
    }

    /// Lets another archer shoot, in the session that was left open if there is one.
    pub(super) fn pick(self, archer: Uuid) {
        self.close_acts();
        // Who has been shooting without having been chosen comes back to an open session too.
        let now = self.archer().map(|(id, _)| id.to_string());
        self.prefer(|p| {
            p.archer = p.archer.take().or(now);
            p.pick(&archer.to_string());
        });
        self.go(Screen::Shoot);
    }

    /// Opens a session.
    pub(super) fn open_session(self, id: Uuid) {
        self.close_acts();
        self.prefer(|p| p.session = Some(id.to_string()));
    }

    /// Opens a session that was begun just now; that it was is the first act that can be undone in it.
    pub(super) fn begin_session(self, id: Uuid) {
        let begun = self.undo.try_update(Vec::pop).flatten();
        self.open_session(id);
        self.undo.set(begun.into_iter().collect());
    }

    /// Leaves the session that is open; it stays as it is.
    pub(super) fn leave_session(self) {
        self.close_acts();
        self.prefer(|p| p.session = None);
    }

    /// Asks the browser to keep what is stored, now that there is something to keep.
    pub(super) fn ask_to_stay(self) {
        if self.persisted.get_untracked() == Some(true) {
            return;
        }
        spawn_local(async move {
            let kept = offers::persist().await;
            if kept.is_some() {
                self.persisted.set(kept);
            }
        });
    }

    /// Archers of this device in the order of their names.
    pub(super) fn archers(self) -> Vec<(Uuid, Archer)> {
        archers(self.log)
    }

    /// The archer shooting now.
    pub(super) fn archer(self) -> Option<(Uuid, Archer)> {
        shooting(self.log, self.prefs)
    }

    /// Looks into the log of the archer shooting now.
    pub(super) fn in_log<T>(self, look: impl FnOnce(&Log, Uuid) -> Option<T>) -> Option<T> {
        let (archer, _) = self.archer()?;
        self.log.with(|log| look(log, archer))
    }

    /// Whose log a record is written into: an archer's own record into that archer's, everything else into that of the one
    /// shooting now.
    fn home(self, id: Uuid, body: &Body) -> Option<Uuid> {
        if matches!(body, Body::Archer(_)) { Some(id) } else { untrack(|| self.archer()).map(|(archer, _)| archer) }
    }

    /// Adds an archer and lets that one shoot, unless the name is refused; an act that can be undone.
    pub(super) fn new_archer(self, archer: Archer) -> Option<Uuid> {
        let (id, change, record) = self.fresh_archer(archer);
        if !self.take(vec![change], vec![record]) {
            return None;
        }
        self.prefer(|p| p.pick(&id.to_string()));
        Some(id)
    }

    fn fresh_archer(self, archer: Archer) -> (Uuid, Change, Record) {
        let (id, body) = (device::fresh_id(), Body::Archer(archer));
        let change = Change { archer: id, id, before: None, after: body.clone() };
        (id, change, Record::new(id, id, self.stamp(), body))
    }

    /// Kits of the archer shooting now, the latest first.
    pub(super) fn kits(self) -> Vec<(Uuid, Kit)> {
        let Some((archer, _)) = self.archer() else { return Vec::new() };
        let mut kits: Vec<(Uuid, Kit)> = self.log.with(|log| {
            log.of(|b| if let Body::Kit(k) = b { Some(k) } else { None })
                .into_iter()
                .filter(|(r, _)| r.archer == archer)
                .map(|(r, k)| (r.id, (**k).clone()))
                .collect()
        });
        kits.reverse();
        kits
    }

    fn stamp(self) -> goldward_journal::Stamp {
        self.clock.try_update_value(|c| c.next(device::now_ms())).unwrap_or_else(|| unreachable!("the clock is there"))
    }

    /// Writes new records as one act that can be undone. Returns the id of the first.
    pub(super) fn write(self, bodies: Vec<Body>) -> Option<Uuid> {
        let bodies: Vec<(Uuid, Body)> = bodies.into_iter().map(|b| (device::fresh_id(), b)).collect();
        let first = bodies.first()?.0;
        self.write_as(Archer::default(), bodies).then_some(first)
    }

    /// Writes records under their ids as one act that can be undone: new ones, and new versions of those that are there. Where
    /// nobody is shooting yet, `archer` is from now on.
    pub(super) fn write_as(self, archer: Archer, bodies: Vec<(Uuid, Body)>) -> bool {
        self.typed();
        let (mut act, mut records) = (Act::new(), Vec::new());
        let known = untrack(|| self.archer()).map(|(id, _)| id);
        let home = known.unwrap_or_else(|| {
            let (id, change, record) = self.fresh_archer(archer);
            act.push(change);
            records.push(record);
            id
        });
        for (id, after) in bodies {
            let old = self.log.with_untracked(|l| l.get(home, id).cloned());
            if old.as_ref().is_some_and(|old| old.body == after) {
                continue;
            }
            records.push(match &old {
                Some(old) => self.version(old, after.clone()),
                None => Record::new(home, id, self.stamp(), after.clone()),
            });
            act.push(Change { archer: home, id, before: old.map(|old| old.body), after });
        }
        let taken = self.take(act, records);
        if taken && known.is_none() {
            self.prefer(|p| p.pick(&home.to_string()));
        }
        taken
    }

    /// Takes an act with the records it writes. Where one of them is refused it is no act: nothing is written, and there is
    /// nothing to undo. Away from the line, where no button for it stands, it is offered to take it back.
    fn take(self, act: Act, records: Vec<Record>) -> bool {
        if self.refused(&records) {
            return false;
        }
        let line = untrack(|| self.at_the_line());
        self.done(act);
        if !line {
            self.say_undo(self.t(Word::Changed).to_owned());
        }
        self.keep(records)
    }

    /// Whether arrows are being shot on the screen.
    pub(super) fn at_the_line(self) -> bool {
        self.screen.get() == Screen::Shoot
            && !self.reads()
            && self.editing.with(Option::is_none)
            && self.sheet.with(Option::is_some)
    }

    /// Says why one of these records is refused, if one is.
    fn refused(self, records: &[Record]) -> bool {
        if records.iter().any(|r| !untrack(|| self.may_write(r.archer))) {
            self.say(self.t(Word::YouReadRefused).to_owned());
            return true;
        }
        let why = records.iter().find_map(|r| r.validate().err());
        if let Some(why) = &why {
            self.say(self.f(Word::NotSaved, &[&why.to_string()]));
        }
        why.is_some()
    }

    /// Writes a new version of a record, as an act that can be undone. Tells whether it says so now; one that is refused is told.
    pub(super) fn edit(self, id: Uuid, body: Body) -> bool {
        self.typed();
        self.home(id, &body).is_some_and(|archer| self.edit_of(archer, id, body))
    }

    fn edit_of(self, archer: Uuid, id: Uuid, body: Body) -> bool {
        let Some(old) = self.log.with_untracked(|l| l.get(archer, id).cloned()) else { return false };
        if old.body == body {
            return true;
        }
        let change = Change { archer, id, before: Some(old.body.clone()), after: body.clone() };
        self.take(vec![change], vec![self.version(&old, body)])
    }

    /// Deletes a record, as an act that can be undone.
    pub(super) fn delete(self, id: Uuid) {
        self.typed();
        let Some((archer, _)) = untrack(|| self.archer()) else { return };
        if let Some(body) = self.tombstone(archer, id) {
            if self.edit_of(archer, id, body) {
                self.say_undo(self.t(Word::Deleted).to_owned());
            }
        }
    }

    /// Deletes a session with all that was shot in it, as one act that can be undone.
    pub(super) fn delete_session(self, id: Uuid) {
        self.typed();
        let Some((archer, _)) = untrack(|| self.archer()) else { return };
        let parts: Vec<Uuid> = self.log.with_untracked(|l| {
            let notes = goldward_session::log::remarks(l, archer, id).into_iter().map(|(note, _)| note);
            l.parts(archer, id).map(|r| r.id).chain(notes).collect()
        });
        if self.prefs.with_untracked(|p| p.session.as_deref() == Some(id.to_string().as_str())) {
            self.leave_session();
        }
        let mut act = Act::new();
        let mut records = Vec::new();
        for id in parts.into_iter().chain([id]) {
            let old = self.log.with_untracked(|l| l.get(archer, id).cloned());
            let (Some(old), Some(after)) = (old, self.tombstone(archer, id)) else { continue };
            act.push(Change { archer, id, before: Some(old.body.clone()), after: after.clone() });
            records.push(self.version(&old, after));
        }
        if self.take(act, records) {
            self.say_undo(self.t(Word::Deleted).to_owned());
        }
    }

    /// A new version of a record, which wins over it.
    fn version(self, old: &Record, body: Body) -> Record {
        let stamp = self.clock.try_update_value(|c| c.next_after(old.stamp, device::now_ms()));
        old.edited(stamp.unwrap_or_else(|| unreachable!("the clock is there")), body)
    }

    fn tombstone(self, archer: Uuid, id: Uuid) -> Option<Body> {
        self.log.with_untracked(|log| {
            let old = log.get(archer, id)?;
            // Only the body is wanted: the stamp is ours to give.
            Some(Writer::new(old.archer, old.stamp.device).delete(0, old).body)
        })
    }

    fn done(self, act: Act) {
        if act.is_empty() {
            return;
        }
        self.undo.update(|u| {
            u.push(act);
            if u.len() > 500 {
                u.remove(0);
            }
        });
        self.redo.update(Vec::clear);
    }

    /// `write` is called before the next act, undo or redo: what was typed first is done first, and a rest of the hand does not write
    /// between an undo and its redo.
    pub(super) fn types(self, write: impl Fn() + Send + Sync + 'static) {
        self.typing.set_value(Some(Arc::new(write)));
    }

    fn typed(self) {
        if let Some(write) = self.typing.try_update_value(Option::take).flatten() {
            write();
        }
    }

    /// Forgets what could be undone: another session has been opened.
    pub(super) fn close_acts(self) {
        // Nor is there anything left that the word in passing could take back.
        if self.toast.with_untracked(|t| t.as_ref().is_some_and(|t| t.offer.is_some())) {
            self.toast.set(None);
        }
        self.typed();
        self.undo.set(Vec::new());
        self.redo.set(Vec::new());
    }

    pub(super) fn can_undo(self) -> bool {
        self.undo.with(|u| !u.is_empty()) || self.sheet.with(|s| s.as_ref().is_some_and(|s| s.last_act.is_some()))
    }

    pub(super) fn can_redo(self) -> bool {
        self.redo.with(|r| !r.is_empty())
    }

    /// Takes the last act back. After a restart, when the acts are no longer known, the last shot or touch.
    pub(super) fn undo(self) {
        self.typed();
        let act = self.undo.try_update(Vec::pop).flatten().or_else(|| {
            let sheet = self.sheet.get_untracked()?;
            let id = sheet.last_act?;
            let (archer, _) = untrack(|| self.archer())?;
            let record = self.log.with_untracked(|l| l.get(archer, id).cloned())?;
            let own = self.clock.with_value(|c| c.device() == record.stamp.device);
            if !own {
                self.say(self.t(Word::UndoOther).to_owned());
                return None;
            }
            Some(vec![Change { archer, id, before: None, after: record.body }])
        });
        let Some(act) = act else { return };
        let Some(act) = self.still_own(act, |c| Some(&c.after)) else { return };
        let before = |c: &Change| c.before.clone().or_else(|| self.tombstone(c.archer, c.id));
        self.put(&act, before);
        self.redo.update(|r| r.push(act));
        // Where no button for it stands.
        if !untrack(|| self.at_the_line()) {
            self.show(self.t(Word::TakenBack).to_owned(), Some(Word::Redo));
        }
    }

    /// Writes new versions of what an act has changed, all at once.
    fn put(self, act: &Act, body: impl Fn(&Change) -> Option<Body>) {
        let version = |c: &Change| {
            let old = self.log.with_untracked(|l| l.get(c.archer, c.id).cloned())?;
            Some(self.version(&old, body(c)?))
        };
        self.keep(act.iter().rev().filter_map(version).collect());
    }

    /// The changes of an act that still stand as this device left them; what another device has changed since stays as that one
    /// left it, and that is told.
    fn still_own(self, act: Act, left: impl Fn(&Change) -> Option<&Body>) -> Option<Act> {
        let all = act.len();
        let own: Act = self.log.with_untracked(|log| {
            let stands = |c: &Change| {
                log.get(c.archer, c.id).is_some_and(|r| match left(c) {
                    Some(body) => r.body == *body,
                    None => r.is_deleted(),
                })
            };
            act.into_iter().filter(stands).collect()
        });
        if own.len() < all {
            self.say(self.t(Word::UndoOther).to_owned());
        }
        Some(own).filter(|own| !own.is_empty())
    }

    /// Does the last act taken back again.
    pub(super) fn redo(self) {
        self.typed();
        let Some(act) = self.redo.try_update(Vec::pop).flatten() else { return };
        let Some(act) = self.still_own(act, |c| c.before.as_ref()) else { return };
        self.put(&act, |c| Some(c.after.clone()));
        self.undo.update(|u| u.push(act));
    }

    /// Takes records into the log and onto the disk; tells whether all of them are sound.
    pub(super) fn keep(self, records: Vec<Record>) -> bool {
        // What no server and no other device would take is not taken here either, and never called saved.
        let sound = !self.refused(&records);
        let records: Vec<Record> =
            records.into_iter().filter(|r| r.validate().is_ok() && untrack(|| self.may_write(r.archer))).collect();
        if records.is_empty() {
            return sound;
        }
        broken::waiting(&records);
        self.queue.update_value(|q| q.extend(records.iter().cloned()));
        self.saving.set(Saving::Saving);
        self.log.update(|log| log.extend(records));
        self.flush();
        sound
    }

    /// Takes in what a file has, as an act that can be undone, and says how many records were new. What is stamped far ahead is set
    /// aside.
    pub(super) fn take_in(self, other: Vec<Record>) {
        let now = device::now_ms();
        let (ahead, other): (Vec<Record>, Vec<Record>) = other.into_iter().partition(|r| r.stamp.is_ahead(now));
        if !ahead.is_empty() {
            let why = |r: &Record| goldward_journal::sync::Why::Ahead { ms: r.stamp.ms };
            let aside: Vec<Aside> =
                ahead.iter().map(|r| Aside { archer: r.archer, why: why(r), json: r.to_json() }).collect();
            self.peer.show(&aside);
            if let Some(db) = self.database() {
                spawn_local(async move {
                    if let Err(why) = db::keep(&db, &[], &aside).await {
                        self.say(why);
                    }
                });
            }
        }
        let fresh = self.fresh(other);
        let n = fresh.len();
        let before = |r: &Record| self.log.with_untracked(|l| l.get(r.archer, r.id).map(|r| r.body.clone()));
        let of = |r: &Record| Change { archer: r.archer, id: r.id, before: before(r), after: r.body.clone() };
        self.done(fresh.iter().map(of).collect());
        self.keep(fresh);
        if n > 0 {
            self.say_undo(self.f(Word::Imported, &[&n.to_string()]));
        } else {
            self.say(self.f(Word::Imported, &["0"]));
        }
    }

    /// Takes in what another window of the app has written; it is on the disk already.
    pub(super) fn hear(self, records: Vec<Record>) {
        self.clock.update_value(|c| records.iter().for_each(|r| c.observe(r.stamp, device::now_ms())));
        self.log.update(|log| {
            log.extend(records);
        });
    }

    /// Takes in what a server has sent, and what was set aside of it; returns how many records were new, once all of it is on the
    /// disk.
    pub(super) async fn take_in_durably(self, other: Vec<Record>, aside: Vec<Aside>) -> Result<u64, String> {
        let Some(db) = self.database() else { return Err(String::new()) };
        let fresh = self.fresh(other);
        if !fresh.is_empty() {
            self.log.update(|log| log.extend(fresh.iter().cloned()));
        }
        db::keep(&db, &fresh, &aside).await?;
        Ok(fresh.len() as u64)
    }

    /// Those that are later than what is here. Their clocks are heeded where the log may be written.
    fn fresh(self, other: Vec<Record>) -> Vec<Record> {
        let now = device::now_ms();
        let own = other.iter().filter(|r| self.may_write(r.archer));
        self.clock.update_value(|c| own.for_each(|r| c.observe(r.stamp, now)));
        self.log.with_untracked(|log| {
            let newer = |r: &Record| log.get(r.archer, r.id).is_none_or(|own| r.compare_versions(own).is_gt());
            other.into_iter().filter(newer).collect()
        })
    }

    /// Writes a version that another device wrote as the one that counts, as an act that can be undone.
    pub(super) fn use_version(self, archer: Uuid, id: Uuid, body: Body) {
        self.edit_of(archer, id, body);
    }

    /// Takes the log of one archer off this device.
    pub(super) fn forget(self, archer: Uuid) {
        self.close_acts();
        self.queue.update_value(|q| q.retain(|r| r.archer != archer));
        self.log.update(|log| {
            let _ = log.take_out(archer);
        });
        self.peer.aside.update(|a| a.retain(|a| a.archer != archer));
        if let Some(db) = self.database() {
            spawn_local(async move {
                if let Err(why) = db::forget(&db, archer).await {
                    self.say(why);
                }
            });
        }
    }

    /// Whether the log of that archer may be written here; one that was given by a coached archer is read only.
    pub(super) fn may_write(self, archer: Uuid) -> bool {
        self.peer.readers.with(|r| !r.contains(&archer))
    }

    /// Whether the log that is shown may only be read.
    pub(super) fn reads(self) -> bool {
        self.archer().is_some_and(|(archer, _)| !self.may_write(archer))
    }

    pub(super) fn database(self) -> Option<IdbDatabase> {
        self.db.get_value()
    }

    pub(super) fn flush(self) {
        if self.busy.get_value() {
            return;
        }
        let Some(db) = self.database() else {
            self.saving.set(Saving::Failed(self.t(Word::KeepsNothing).to_owned()));
            return;
        };
        self.busy.set_value(true);
        spawn_local(async move {
            let mut db = db;
            let mut again = true;
            loop {
                let mut batch: Vec<Record> = self.queue.with_value(|q| q.iter().cloned().collect());
                if batch.is_empty() {
                    self.saving.set(Saving::Saved);
                    self.kept.update(|n| *n = n.wrapping_add(1));
                    break;
                }
                // The winning versions: another device's may have come in meanwhile and be on the disk already.
                self.log.with_untracked(|log| {
                    for record in &mut batch {
                        if let Some(now) = log.get(record.archer, record.id).filter(|now| now.stamp != record.stamp) {
                            *record = now.clone();
                        }
                    }
                });
                match db::save(&db, &batch).await {
                    // Only what is on the disk leaves the queue.
                    Ok(()) => {
                        self.queue.update_value(|q| {
                            q.drain(..batch.len());
                        });
                        broken::kept(batch.len());
                        self.windows.tell(&batch);
                    }
                    // A browser may close the database of an app that was long in the background: opened anew, once.
                    Err(why) => match db::again_of(self.peer.account.get_value().map(|a| a.id)).await {
                        Ok(fresh) if again => {
                            again = false;
                            self.db.set_value(Some(fresh.clone()));
                            db = fresh;
                        }
                        _ => {
                            self.saving.set(Saving::Failed(why));
                            break;
                        }
                    },
                }
            }
            self.busy.set_value(false);
        });
    }
}
