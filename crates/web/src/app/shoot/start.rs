//! Starting a session, or carrying on with one.

use std::sync::Arc;

use goldward_core::face::Face;
use goldward_core::units::{Distance, trim_number};
use goldward_core::usual::Bow;
use goldward_journal::{Archer, Body, Hand, Kit, Proven, Session, Uuid};
use goldward_session::demo;
use goldward_session::log::{Learnt, SpreadSeen, habits_kept, learn, spreads_seen, total_of};
use goldward_session::rounds::{EDITION, Origin, ROUNDS, match_of, same};
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::spawn_local;

use super::remarks::{remarked, remarks};
use crate::app::peer::Standing;
use crate::app::sift::{all_of, sift};
use crate::app::state::{App, app};
use crate::app::told;
use crate::app::widgets::{Asked, Choice, NumberField, Stepper, TextField, read_all};
use crate::app::{device, drafts, offers, whole};
use crate::numbers::{distances, metres, shown};
use crate::pages::{controls, escape};
use crate::practice::{self, Usual};
use crate::prefs::OwnRound;
use crate::sheet::Sheet;
use crate::words::{self, Word};

/// Sessions of the archer shooting now, the latest first.
pub(in crate::app) fn sessions(app: App) -> Vec<(Uuid, Session)> {
    let Some((archer, _)) = app.archer() else { return Vec::new() };
    let mut all: Vec<(Uuid, Session)> = app.log.with(|log| {
        log.of(|b| if let Body::Session(s) = b { Some(s) } else { None })
            .into_iter()
            .filter(|(r, _)| r.archer == archer)
            .map(|(r, s)| (r.id, s.clone()))
            .collect()
    });
    all.sort_by_key(|(id, s)| std::cmp::Reverse((s.at_ms, *id)));
    all
}

/// The form, and the sessions so far.
pub(super) fn view() -> impl IntoView {
    let app = app();
    view! {
        <div class="page start">
            {form(app, None)}
            <Show when=move || may_be_forgotten(app)>
                <div class="notice" id="forgets">
                    <p>{move || app.t(Word::ForgetsInAWeek)}</p>
                    <a href="#/settings">{move || app.t(Word::WhereItIsSafe)}</a>
                </div>
            </Show>
            <h2>{app.t(Word::OpenSessions)}</h2>
            <Earlier/>
        </div>
    }
}

/// Whether there is something that this browser may drop after a week without a visit.
fn may_be_forgotten(app: App) -> bool {
    offers::forgets_in_a_week()
        && app.persisted.get() != Some(true)
        && !matches!(app.standing.get(), Standing::Done(_))
        && app.log.with(|l| l.len() > 0)
}

/// The form of a session that has been begun: what it says can be put right, and it can be deleted.
pub(super) fn change(id: Uuid) -> AnyView {
    let app = app();
    let session = untrack(|| {
        app.in_log(|l, archer| match l.get(archer, id).map(|r| &r.body) {
            Some(Body::Session(s)) => Some(s.clone()),
            _ => None,
        })
    });
    match session {
        Some(session) => {
            view! { <div class="page start">{remarks(id)}{form(app, Some((id, session)))}</div> }.into_any()
        }
        None => view! { <div class="page"><p>{app.t(Word::NoSessions)}</p></div> }.into_any(),
    }
}

/// Asks once more before a session goes with all that was shot in it.
fn deletion(app: App, id: Uuid) -> impl IntoView {
    let asked = RwSignal::new(false);
    let arrows = untrack(|| app.in_log(|l, archer| Sheet::of(l, archer, id))).map_or(0, |s| s.rows.len());
    view! {
        <Show when=move || !asked.get()>
            <button type="button" id="delete-session" on:click=move |_| asked.set(true)>{app.t(Word::DeleteSession)}</button>
        </Show>
        <Show when=move || asked.get()>
            <div class="notice safety" role="alert">
                <p>{app.f(Word::DeleteSessionAsk, &[&arrows.to_string()])}</p>
                <div class="buttons">
                    <button type="button" on:click=move |_| asked.set(false)>{app.t(Word::Cancel)}</button>
                    <button type="button" id="delete-session-now" on:click=move |_| {
                        app.editing.set(None);
                        app.delete_session(id);
                    }>{app.t(Word::Delete)}</button>
                </div>
            </div>
        </Show>
    }
}

/// How the setting may be known, in the order of the form.
const KNOWN: [Proven; 3] = [Proven::Guessed, Proven::Predicted, Proven::Shot];

/// Under which what was chosen in the form is kept.
const CHOSEN: &str = "chosen";

/// What has been chosen in the form of a new session, beside what is typed.
struct Chosen {
    face: String,
    kit: Option<Uuid>,
    /// Sighting ends, ends, arrows an end, how the setting is known.
    numbers: [u32; 4],
    /// Whether it is a round, for a compound, with the left hand.
    marks: [bool; 3],
}

impl Chosen {
    fn text(&self) -> String {
        serde_json::json!([self.face, self.kit.map(|k| k.to_string()), self.numbers, self.marks]).to_string()
    }

    fn read(text: &str) -> Option<Self> {
        let (face, kit, numbers, marks): (String, Option<String>, _, _) = serde_json::from_str(text).ok()?;
        Some(Self { face, kit: kit.and_then(|k| k.parse().ok()), numbers, marks })
    }
}

/// What a session is begun with, or what it says.
fn form(app: App, begun: Option<(Uuid, Session)>) -> impl IntoView {
    let l = app.language();
    let kits = app.kits();
    let earlier = StoredValue::new(sessions(app));
    let last =
        begun.as_ref().map(|(_, s)| s.clone()).or_else(|| earlier.with_value(|e| e.first().map(|(_, s)| s.clone())));
    let editing = begun.as_ref().map(|(id, _)| *id);
    let imperial = app.imperial();
    let metres_now = last.as_ref().map_or(if imperial { 18.288 } else { 18.0 }, |s| s.distance_m);
    let (unit, range) = distances(imperial);
    let shown_now = l.number(&trim_number(shown(metres_now, imperial)));
    let distance = Asked::new("distance", Word::Distance, unit, range, shown_now).needed().kept();
    let first_kit = last.as_ref().and_then(|s| s.kit).filter(|k| kits.iter().any(|(id, _)| id == k));
    let kit = RwSignal::new(first_kit.or(kits.first().map(|(id, _)| *id)));
    let is_compound = move |kit| earlier.with_value(|e| practice::is_compound(e, kit));
    let compound = RwSignal::new(
        begun.as_ref().map_or_else(|| is_compound(kit.get_untracked()), |(_, s)| practice::of_compound(&s.face)),
    );
    let usual = move |metres: f64| earlier.with_value(|e| practice::usual(e, metres, kit.get(), compound.get()));
    let first = match &begun {
        Some((_, s)) => Usual {
            face: s.face.clone(),
            ends: if s.ends > 0 { s.ends } else { 12 },
            per_end: s.shots_per_end,
            sighting_ends: s.sighting_ends,
            round: s.ends > 0,
        },
        None => untrack(|| usual(metres_now)),
    };
    let face = RwSignal::new(first.face.clone());
    let round = RwSignal::new(first.round);
    let sighting = RwSignal::new(first.sighting_ends);
    let ends = RwSignal::new(first.ends);
    let per_end = RwSignal::new(first.per_end);
    let proven = RwSignal::new(begun.as_ref().and_then(|(_, s)| s.proven).unwrap_or(Proven::Predicted));
    let follows = RwSignal::new(first);
    // Which of the rounds that are listed this is.
    let listed = Memo::new(move |_| {
        let metres_now = distance.value().map(|d| metres(d, imperial))?;
        if !round.get() {
            return None;
        }
        let (face, ends, per_end) = (face.get(), ends.get(), per_end.get());
        let is =
            |r: &OwnRound| same((r.distance_m, &r.face, r.ends, r.shots_per_end), (metres_now, &face, ends, per_end));
        let own = app.prefs.with(|p| p.rounds.iter().position(is));
        let known = || ROUNDS.iter().find(|r| r.is(metres_now, &face, ends, per_end)).map(|r| r.key.to_owned());
        own.map(|i| format!("own-{i}")).or_else(known)
    });
    let take = move |key: &str| {
        let own = key.strip_prefix("own-").and_then(|i| i.parse::<usize>().ok());
        let own = own.and_then(|i| app.prefs.with_untracked(|p| p.rounds.get(i).cloned()));
        let known = ROUNDS.iter().find(|r| r.key == key).map(|r| OwnRound {
            distance_m: r.distance_m,
            face: r.face.to_owned(),
            ends: r.ends,
            shots_per_end: r.shots_per_end,
            // Practice arrows are shot before a match, not in it.
            sighting_ends: if r.match_by.is_some() { 0 } else { 2 },
        });
        let Some(r) = own.or(known) else {
            if key == "free" {
                round.set(false);
            }
            return;
        };
        distance.text.set(l.number(&trim_number(shown(r.distance_m, imperial))));
        compound.set(practice::of_compound(&r.face));
        face.set(r.face);
        round.set(true);
        ends.set(r.ends);
        per_end.set(r.shots_per_end);
        sighting.set(r.sighting_ends);
    };
    let keep_round = move |()| {
        let Some(distance_m) = distance.value().map(|d| metres(d, imperial)) else { return };
        let (face, ends) = (face.get_untracked(), ends.get_untracked());
        let (shots_per_end, sighting_ends) = (per_end.get_untracked(), sighting.get_untracked());
        app.prefer(|p| p.rounds.push(OwnRound { distance_m, face, ends, shots_per_end, sighting_ends }));
    };
    let (name, hand) = (RwSignal::new(String::new()), RwSignal::new(Hand::Right));
    let chosen = move || {
        let known = KNOWN.iter().position(|p| *p == proven.get()).unwrap_or(1);
        let numbers = [sighting.get(), ends.get(), per_end.get(), known as u32];
        let marks = [round.get(), compound.get(), hand.get() == Hand::Left];
        Chosen { face: face.get(), kit: kit.get(), numbers, marks }
    };
    let begins = untrack(chosen).text();
    if let Some(Chosen { face: f, kit: k, numbers: [s, e, n, known], marks: [r, c, left] }) =
        drafts::of(app, CHOSEN).as_deref().and_then(Chosen::read)
    {
        face.set(f);
        kit.set(k.filter(|k| kits.iter().any(|(id, _)| id == k)).or(kit.get_untracked()));
        sighting.set(s);
        ends.set(e);
        per_end.set(n);
        proven.set(KNOWN.get(known as usize).copied().unwrap_or(Proven::Predicted));
        round.set(r);
        compound.set(c);
        hand.set(if left { Hand::Left } else { Hand::Right });
        // What was chosen here before stays, as it would have without the absence.
        if let Some(d) = distance.value() {
            follows.set(untrack(|| usual(metres(d, imperial))));
        }
    }
    Effect::new(move || drafts::keep(app, CHOSEN, chosen().text(), &begins));
    if editing.is_none() {
        // Face and round follow distance and bow, each until the archer has chosen another.
        Effect::new(move || {
            let Some(shown) = distance.value() else { return };
            let (new, old) = (usual(metres(shown, imperial)), follows.get_untracked());
            if new == old {
                return;
            }
            // A round that was picked has a face and ends of its own.
            if listed.get_untracked().is_some() {
                follows.set(new);
                return;
            }
            let follow = |of: RwSignal<u32>, old: u32, new: u32| {
                if of.get_untracked() == old && old != new {
                    of.set(new);
                }
            };
            if face.with_untracked(|f| *f == old.face) {
                face.set(new.face.clone());
            }
            if round.get_untracked() == old.round && old.round != new.round {
                round.set(new.round);
            }
            follow(ends, old.ends, new.ends);
            follow(per_end, old.per_end, new.per_end);
            follow(sighting, old.sighting_ends, new.sighting_ends);
            follows.set(new);
        });
    }
    let reading_of = move |k: Option<Uuid>| {
        let kit = k.and_then(|k| app.kits().into_iter().find(|(id, _)| *id == k));
        kit.and_then(|(_, k)| k.elevation_reading).map_or(String::new(), |r| words::reading(app.language(), r))
    };
    let reading =
        Asked::new("reading", Word::ReadingNow, "", (-1000.0, 1000.0), untrack(|| reading_of(kit.get_untracked())))
            .hint(Some(Word::Optional))
            .kept();
    let rest = RwSignal::new(editing.is_some());
    // Who has never been here is asked who shoots.
    let newcomer = editing.is_none() && untrack(|| app.archer()).is_none();
    let seen = RwSignal::new(None);
    Effect::new(move || {
        if app.whole.get() {
            spawn_local(look_back(app, seen));
        }
    });
    let begin = {
        let begun = begun.clone();
        move |_| {
            let fields = if begun.is_some() { vec![distance] } else { vec![distance, reading] };
            let Some(numbers) = read_all(&fields) else {
                if distance.value().is_some() {
                    // What is wrong lies in the fold.
                    rest.set(true);
                    request_animation_frame(|| device::focus("reading"));
                }
                return;
            };
            let Some(distance_m) = numbers[0].map(|d| metres(d, imperial).clamp(1.0, 400.0)) else { return };
            let free = !round.get_untracked();
            let plan = |kit: Option<Uuid>| Session {
                at_ms: device::now_ms(),
                distance_m,
                face: face.get_untracked(),
                round: listed.get_untracked().filter(|key| !key.starts_with("own-")),
                kit,
                mark: None,
                sighting_ends: if free { 0 } else { sighting.get_untracked() },
                ends: if free { 0 } else { ends.get_untracked() },
                shots_per_end: per_end.get_untracked(),
                proven: Some(proven.get_untracked()),
                match_by: listed.get_untracked().and_then(|key| match_of(&key)).map(str::to_owned),
                opponent_arrow: None,
            };
            if let Some((id, old)) = &begun {
                let new = plan(kit.get_untracked().or(old.kit));
                // What the form does not ask stays as it was; so does a distance that was not typed anew.
                let near = (new.distance_m - old.distance_m).abs() < 0.001;
                let distance_m = if near { old.distance_m } else { new.distance_m };
                let round = new.round.clone().or_else(|| old.round.clone().filter(|_| !free));
                let match_by = new.match_by.clone().or_else(|| old.match_by.clone().filter(|_| !free));
                let opponent_arrow = old.opponent_arrow;
                let new =
                    Session { at_ms: old.at_ms, round, mark: old.mark, distance_m, match_by, opponent_arrow, ..new };
                if app.edit(*id, Body::Session(new)) {
                    drafts::forget(app);
                    app.editing.set(None);
                    app.say_undo(app.t(Word::Changed).to_owned());
                }
                return;
            }
            let reading = numbers.get(1).copied().flatten();
            let id = kit.get_untracked().unwrap_or_else(device::fresh_id);
            let there = untrack(|| app.kits()).into_iter().find(|(k, _)| *k == id).map(|(_, k)| k);
            // The shots need a kit to be read with; its numbers can be told later.
            let mut bodies = Vec::new();
            if there.is_none() || reading.is_some() {
                let mut own = there.unwrap_or_else(|| Kit { name: app.t(Word::NewKit).to_owned(), ..Kit::default() });
                if compound.get_untracked() && own.bow.is_none() {
                    own.bow = Some(Bow::Compound.key().to_owned());
                }
                own.elevation_reading = reading.or(own.elevation_reading);
                bodies.push((id, Body::Kit(Box::new(own))));
            }
            let session = device::fresh_id();
            bodies.push((session, Body::Session(plan(Some(id)))));
            let archer = Archer {
                name: name.get_untracked().trim().to_owned(),
                hand: Some(hand.get_untracked()),
                counted: None,
            };
            let place = drafts::place(app);
            if app.write_as(archer, bodies) {
                drafts::forget_those(&place);
                app.ask_to_stay();
                app.begin_session(session);
            }
        }
    };
    let prior = told::region(
        "spoken",
        Box::new(move || first_spread(app, seen, distance.value(), kit.get(), compound.get()).unwrap_or_default()),
        Box::new(move |_, value| app.prefer(|p| p.kit_spread = value == "kit")),
    );
    let quick: &[u32] = if imperial { &[20, 30, 40, 50, 60, 80] } else { &[18, 25, 30, 50, 60, 70] };
    let summary = move || {
        let face = Face::named(&face.get()).map(|f| words::face_title(l, f)).unwrap_or_default();
        let plan = if round.get() {
            format!("{} × {}", ends.get(), per_end.get())
        } else {
            app.t(Word::FreePractice).to_owned()
        };
        let setting = app.t(match proven.get() {
            Proven::Guessed => Word::TrustUnknown,
            Proven::Predicted => Word::TrustPredicted,
            Proven::Shot => Word::TrustVerified,
        });
        format!("{face} · {plan} · {}: {setting}", app.t(Word::SettingIs))
    };
    view! {
        <h2>{app.t(if editing.is_some() { Word::ChangeSession } else { Word::StartTitle })}</h2>
        {newcomer.then(|| view! {
            <div class="stack newcomer">
                <TextField label=Word::WhoShoots value=name id="name" kept=true/>
                <Choice label=Word::Hand name="hand" value=hand set=move |v| hand.set(v)
                    choices=vec![(Hand::Right, app.t(Word::RightHand).to_owned()), (Hand::Left, app.t(Word::LeftHand).to_owned())]/>
            </div>
        })}
        {(!kits.is_empty()).then(|| view! {
            <div class="field">
                <label for="kit">{app.t(Word::Kit)}</label>
                <select id="kit" on:change=move |e| {
                    let id = event_target_value(&e).parse().ok();
                    kit.set(id);
                    compound.set(is_compound(id));
                    reading.text.set(reading_of(id));
                }>
                    {kits.iter().map(|(id, k)| view! {
                        <option value=id.to_string() selected=kit.get_untracked() == Some(*id)>{k.name.clone()}</option>
                    }).collect_view()}
                </select>
            </div>
        })}
        <div class="field">
            <label for="round">{app.t(Word::Plan)}</label>
            {told::region("field", Box::new(move || {
                let chosen = listed.get().unwrap_or_else(|| if round.get() { "set" } else { "free" }.to_owned());
                rounds(app, &chosen)
            }), Box::new(move |_, key| take(&key)))}
        </div>
        <NumberField of=distance/>
        <div class="quick" role="group" aria-label=app.t(Word::Distance)>
            {quick.iter().map(|d| view! {
                <button type="button" on:click=move |_| distance.text.set(d.to_string())
                    aria-pressed=move || (distance.text.with(|t| *t == d.to_string())).to_string()>{d.to_string()}</button>
            }).collect_view()}
        </div>
        {editing.is_none().then(|| view! {
            <Choice label=Word::Bow name="bow" value=compound set=move |v| compound.set(v)
                choices=vec![(false, app.t(Word::BowOther).to_owned()), (true, app.t(Word::BowCompound).to_owned())]/>
        })}
        <details class="rest" prop:open=move || rest.get() on:toggle=move |e| {
            let of = e.target().and_then(|t| t.dyn_into::<web_sys::Element>().ok());
            rest.set(of.is_some_and(|d| d.has_attribute("open")));
        }>
            <summary><b>{app.t(Word::RestOfForm)}</b> <span>{summary}</span></summary>
            <div class="field">
                <label for="face">{app.t(Word::Face)}</label>
                <select id="face" prop:value=move || face.get() on:change=move |e| face.set(event_target_value(&e))>
                    {Face::all().iter().map(|f| view! {
                        <option value=f.name selected=face.get_untracked() == f.name>{words::face_title(l, f)}</option>
                    }).collect_view()}
                </select>
            </div>
            {move || {
                let origin = listed.get().and_then(|key| ROUNDS.iter().find(|r| r.key == key)).map(|r| r.origin)?;
                let word = match origin {
                    Origin::RuleBook => Word::RoundsFrom,
                    Origin::OneOfFour => Word::RoundsOneOfFour,
                    Origin::Practice => Word::RoundsPractice,
                };
                Some(view! { <p class="hint">{app.f(word, &[EDITION])}</p> })
            }}
            <Choice label=Word::Plan name="plan" value=round set=move |v| round.set(v)
                choices=vec![(false, app.t(Word::FreePractice).to_owned()), (true, app.t(Word::Round).to_owned())]/>
            <Show when=move || round.get()>
                <Stepper id="sighting-ends" label=Word::SightingEnds value=sighting min=0 max=6/>
                <Stepper id="ends" label=Word::Ends value=ends min=1 max=30/>
            </Show>
            <Stepper id="per-end" label=Word::ArrowsPerEnd value=per_end min=1 max=12/>
            {move || {
                let own = listed.get().map(|key| key.strip_prefix("own-").map(str::to_owned));
                let (act, word) = match own {
                    None if round.get() => ("keep-round", Word::RoundKeep),
                    Some(Some(_)) => ("drop-round", Word::RoundDrop),
                    _ => return None,
                };
                Some(view! { <button type="button" id=act on:click=move |_| match &own {
                    Some(Some(i)) => forget_round(app, i),
                    _ => keep_round(()),
                }>{app.t(word)}</button> })
            }}
            <Choice label=Word::SettingIs name="proven" value=proven set=move |v| proven.set(v)
                choices=vec![
                    (Proven::Guessed, app.t(Word::TrustUnknown).to_owned()),
                    (Proven::Predicted, app.t(Word::TrustPredicted).to_owned()),
                    (Proven::Shot, app.t(Word::TrustVerified).to_owned()),
                ]/>
            {editing.is_none().then(|| view! {
                <div id="prior">{prior}</div>
                <NumberField of=reading/>
            })}
        </details>
        <Show when=move || proven.get() == Proven::Guessed>
            <p class="notice safety">{move || app.t(Word::NoteUnproven)}</p>
        </Show>
        {match editing {
            None => view! {
                <div class="dock buttons">
                    {newcomer.then(|| view! {
                        <button type="button" id="try-demo" on:click=move |_| try_demo(app)>{app.t(Word::TryDemo)}</button>
                    })}
                    <button type="button" class="main" id="start" on:click=begin>{app.t(Word::Start)}</button>
                </div>
            }.into_any(),
            Some(id) => view! {
                {deletion(app, id)}
                <div class="dock buttons">
                    <button type="button" id="cancel-session" on:click=move |_| {
                        drafts::forget(app);
                        app.editing.set(None);
                    }>{app.t(Word::Cancel)}</button>
                    <button type="button" class="main" id="save-session" on:click=begin>{app.t(Word::Save)}</button>
                </div>
            }.into_any(),
        }}
    }
}

/// A round of the list in words: `18 m, 60 arrows (20 × 3), 40 cm · 10–1`.
fn round_name(app: App, distance_m: f64, face: &str, ends: u32, per_end: u32) -> String {
    let l = app.language();
    let face = Face::named(face).map(|f| words::face_title(l, f)).unwrap_or_default();
    let numbers = [ends * per_end, ends, per_end].map(|n| n.to_string());
    let distance = words::distance(l, app.imperial(), distance_m);
    app.f(Word::RoundNamed, &[&distance, &numbers[0], &numbers[1], &numbers[2], &face])
}

/// Forgets a round of one's own.
fn forget_round(app: App, number: &str) {
    app.prefer(|p| {
        if let Ok(i) = number.parse::<usize>() {
            if i < p.rounds.len() {
                p.rounds.remove(i);
            }
        }
    });
}

/// The list of rounds, of one's own and from the table.
fn rounds(app: App, chosen: &str) -> String {
    let option = |key: &str, text: &str| {
        let selected = if key == chosen { " selected" } else { "" };
        format!("<option value=\"{key}\"{selected}>{}</option>", escape(text))
    };
    let group = |label: Word, inside: String| format!("<optgroup label=\"{}\">{inside}</optgroup>", app.t(label));
    let own: String = app.prefs.with(|p| {
        let own = p.rounds.iter().enumerate();
        own.map(|(i, r)| option(&format!("own-{i}"), &round_name(app, r.distance_m, &r.face, r.ends, r.shots_per_end)))
            .collect()
    });
    let mut out = format!("<select id=\"round\" data-act=\"round\">{}", option("free", app.t(Word::FreePractice)));
    if chosen == "set" {
        out += &option("set", app.t(Word::RoundAsSet));
    }
    if !own.is_empty() {
        out += &group(Word::RoundsOwn, own);
    }
    for (indoors, label) in [(true, Word::RoundsIndoors), (false, Word::RoundsOutdoors)] {
        let of = ROUNDS.iter().filter(|r| r.indoors == indoors);
        out += &group(
            label,
            of.map(|r| {
                let by = r.match_by.map(|by| app.t(if by == "sets" { Word::MatchBySets } else { Word::MatchByTotal }));
                let name = round_name(app, r.distance_m, r.face, r.ends, r.shots_per_end);
                option(r.key, &[Some(name.as_str()), by].into_iter().flatten().collect::<Vec<_>>().join(", "))
            })
            .collect(),
        );
    }
    out + "</select>"
}

/// Lets an invented archer in, with ten evenings of shooting.
fn try_demo(app: App) {
    app.pick(demo::archer());
    app.take_in(demo::log(device::now_ms()).records().cloned().collect());
}

/// What the sessions before show. The form may be gone at any time.
async fn look_back(app: App, seen: RwSignal<Option<Vec<Arc<SpreadSeen>>>>) {
    let Some((archer, _)) = untrack(|| app.archer()) else { return };
    sift(app.log, archer, &all_of(app.log, archer), false, |_| seen.try_with_untracked(|_| ()).is_some()).await;
    let all = app.log.with_untracked(|log| spreads_seen(log, archer));
    // The session that is about to begin asks for the same.
    app.log.with_untracked(|log| habits_kept(log, archer, &all, device::now_ms()));
    seen.try_set(Some(all));
}

/// The spread that the session will begin with: what was shot at that distance, or the kit's number if the archer likes that better.
fn first_spread(
    app: App,
    seen: RwSignal<Option<Vec<Arc<SpreadSeen>>>>,
    distance: Option<f64>,
    kit: Option<Uuid>,
    compound: bool,
) -> Option<String> {
    let distance = Distance::from_metres(metres(distance?, app.imperial())).ok()?;
    let kit = app.kits().into_iter().find(|(id, _)| Some(*id) == kit).map(|(_, k)| k);
    // Of a kit that is to be made only the bow is known.
    let kit = kit.unwrap_or_else(|| Kit { bow: compound.then(|| Bow::Compound.key().to_owned()), ..Kit::default() });
    // With what the archer's days are worth at most, as the reading will be told.
    let of = |seen: &[Arc<SpreadSeen>]| {
        let now = device::now_ms();
        learn(seen, distance, Some(&kit), now).ok().map(|l| l.with_days(seen, Some(&kit), now))
    };
    let (plain, learnt) = (of(&[])?, seen.with(|seen| of(seen.as_ref()?))?);
    let l = app.language();
    let spread = |x: &Learnt| words::length(l, app.imperial(), x.spread.mrad() * distance.metres());
    let worth = |x: &Learnt| format!("{:.0}", x.worth_told());
    let own = app.f(Word::PriorKit, &[&spread(&plain), &worth(&plain)]);
    if learnt.sessions == 0 {
        let text = app.f(Word::PriorNone, &[&spread(&plain), &worth(&learnt)]);
        return Some(controls::text("hint", &format!("{}: {text}", app.t(Word::PriorTitle))));
    }
    let values = [spread(&learnt), learnt.sessions.to_string(), learnt.shots.to_string(), worth(&learnt)];
    let shot = app.f(Word::PriorLearnt, &values.each_ref().map(String::as_str));
    // How far an end is moved as one: in millimetres on the face, as everything else an archer sees.
    let ends = learnt.ends.map(|e| {
        let far = |share: f64| words::length(l, app.imperial(), share * learnt.spread.mrad() * distance.metres());
        let count = e.ends.to_string();
        controls::text("hint", &app.f(Word::PriorEnds, &[&far(e.effect.windage), &far(e.effect.elevation), &count]))
    });
    let chosen = if app.prefs.with_untracked(|p| p.kit_spread) { "kit" } else { "shot" };
    let choice = controls::choice("prior", app.t(Word::PriorTitle), &[("shot", shot), ("kit", own)], chosen);
    Some(choice + &ends.unwrap_or_default())
}

#[component]
fn Earlier() -> impl IntoView {
    let app = app();
    let rows = move || {
        let l = app.language();
        if !app.whole.get() {
            return whole::reading(app);
        }
        let all = sessions(app);
        if all.is_empty() {
            return view! { <p>{app.t(Word::NoSessions)}</p> }.into_any();
        }
        let rows = all.into_iter().take(30).map(|(id, s)| {
            let total = app.in_log(|log, archer| total_of(log, archer, id)).map_or((0, 0), |t| (t.points, t.shots));
            view! {
                <li class="with-edit">
                    <button type="button" class="session" on:click=move |_| app.open_session(id)>
                        <span>{device::date(s.at_ms, l.code())}</span>
                        <span>{words::distance(l, app.imperial(), s.distance_m)} " · " {Face::named(&s.face).map(|f| words::face_title(l, f)).unwrap_or_default()}</span>
                        <b>{app.f(Word::PointsArrows, &[&total.0.to_string(), &total.1.to_string()])}</b>
                        <small>{remarked(app, id)}</small>
                    </button>
                    <button type="button" class="edit" aria-label=format!("{}: {}", app.t(Word::ChangeSession), device::date(s.at_ms, l.code()))
                        on:click=move |_| app.editing.set(Some(id))>"✎"</button>
                </li>
            }
        });
        view! { <ul class="sessions">{rows.collect_view()}</ul> }.into_any()
    };
    rows
}
