//! Starting a session, or carrying on with one.

use goldward_core::face::Face;
use goldward_core::units::{Distance, parse_decimal};
use goldward_journal::view::{Learnt, SpreadSeen, learn, spreads_seen};
use goldward_journal::{Body, Kit, Proven, Session, Uuid};
use leptos::prelude::*;

use crate::app::device;
use crate::app::screens::told;
use crate::app::state::{App, app};
use crate::app::widgets::{Choice, NumberField, Stepper, number};
use crate::pages::controls;
use crate::sheet::Sheet;
use crate::words::{self, Language, Word};

/// A face in the language of the app.
pub(in crate::app) fn face_title(l: Language, face: &Face) -> String {
    let cm = face.name.split('-').find(|p| p.chars().all(|c| c.is_ascii_digit())).unwrap_or("");
    let values = |a: u8, b: u8| format!("{a}–{b}");
    let range = values(face.highest_value(), face.zones.last().map_or(0, |z| z.value));
    let spots = if face.spots.len() > 1 { format!(" ×{}", face.spots.len()) } else { String::new() };
    let shape = match (face.name.contains("3v"), face.name.contains("3t")) {
        (true, _) => " ⋮",
        (_, true) => " ∴",
        _ => "",
    };
    let compound = if face.name.ends_with("-c") { format!(" · {} X", face.highest_value()) } else { String::new() };
    let field = if face.name.starts_with("field") {
        match l {
            Language::English => "field ",
            Language::German => "Feld ",
            Language::French => "campagne ",
        }
    } else {
        ""
    };
    format!("{field}{cm} cm{spots}{shape} · {range}{compound}")
}

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

/// Opens a session.
pub(in crate::app) fn open(app: App, id: Uuid) {
    app.close_acts();
    app.prefer(|p| p.session = Some(id.to_string()));
}

/// The form, and the sessions so far.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let l = app.language();
    let kits = app.kits();
    let last = sessions(app).into_iter().next().map(|(_, s)| s);
    let imperial = app.imperial();
    let metres = last.as_ref().map_or(if imperial { 18.288 } else { 18.0 }, |s| s.distance_m);
    let shown = if imperial { metres / 0.9144 } else { metres };
    let distance = RwSignal::new(l.number(&goldward_core::units::trim_number(shown)));
    let face = RwSignal::new(last.as_ref().map_or_else(|| "40".to_owned(), |s| s.face.clone()));
    let first_kit = last.as_ref().and_then(|s| s.kit).filter(|k| kits.iter().any(|(id, _)| id == k));
    let kit = RwSignal::new(first_kit.or(kits.first().map(|(id, _)| *id)));
    let round = RwSignal::new(last.as_ref().is_some_and(|s| s.ends > 0));
    let sighting = RwSignal::new(last.as_ref().map_or(0, |s| s.sighting_ends));
    let ends = RwSignal::new(last.as_ref().map_or(12, |s| if s.ends > 0 { s.ends } else { 12 }));
    let per_end = RwSignal::new(last.as_ref().map_or(6, |s| s.shots_per_end));
    let proven = RwSignal::new(Proven::Predicted);
    let reading_of = move |k: Option<Uuid>| {
        let kit = k.and_then(|k| app.kits().into_iter().find(|(id, _)| *id == k));
        kit.and_then(|(_, k)| k.elevation_reading).map_or(String::new(), |r| words::reading(app.language(), r))
    };
    let reading = RwSignal::new(reading_of(kit.get_untracked()));
    let seen = StoredValue::new(
        app.archer().map(|(id, _)| app.log.with_untracked(|l| spreads_seen(l, id))).unwrap_or_default(),
    );
    let wrong = RwSignal::new(None::<String>);
    let begin = move |_| {
        let go = || -> Result<(), String> {
            let unit = if imperial { 0.9144 } else { 1.0 };
            let shown = number(Word::Distance, &distance.get_untracked(), 1.0 / unit, 400.0 / unit)?;
            let distance_m = (shown.ok_or_else(|| app.f(Word::BadNumber, &[app.t(Word::Distance), "1", "400"]))?
                * unit)
                .clamp(1.0, 400.0);
            let reading = number(Word::ReadingNow, &reading.get_untracked(), -1000.0, 1000.0)?;
            let kit = match kit.get_untracked() {
                Some(id) => {
                    if let Some(reading) = reading {
                        set_reading(app, id, reading);
                    }
                    id
                }
                // The shots need a kit to be read with; its numbers can be told later.
                None => {
                    let first =
                        Kit { name: app.t(Word::NewKit).to_owned(), elevation_reading: reading, ..Kit::default() };
                    app.write(vec![Body::Kit(Box::new(first))]).ok_or("no kit")?
                }
            };
            let free = !round.get_untracked();
            let session = Session {
                at_ms: device::now_ms(),
                distance_m,
                face: face.get_untracked(),
                round: None,
                kit: Some(kit),
                mark: None,
                sighting_ends: if free { 0 } else { sighting.get_untracked() },
                ends: if free { 0 } else { ends.get_untracked() },
                shots_per_end: per_end.get_untracked(),
                proven: Some(proven.get_untracked()),
            };
            let id = app.write(vec![Body::Session(session)]).ok_or("no session")?;
            open(app, id);
            Ok(())
        };
        wrong.set(go().err());
    };
    let prior = told::region(
        "spoken",
        Box::new(move || first_spread(app, seen, &distance.get(), kit.get()).unwrap_or_default()),
        Box::new(move |_, value| app.prefer(|p| p.kit_spread = value == "kit")),
    );
    let quick: &[u32] = if imperial { &[20, 30, 40, 50, 60, 80] } else { &[18, 25, 30, 50, 60, 70] };
    view! {
        <div class="page start">
            <h2>{app.t(Word::StartTitle)}</h2>
            {(!kits.is_empty()).then(|| view! {
                <div class="field">
                    <label for="kit">{app.t(Word::Kit)}</label>
                    <select id="kit" on:change=move |e| {
                        let id = event_target_value(&e).parse().ok();
                        kit.set(id);
                        reading.set(reading_of(id));
                    }>
                        {kits.iter().map(|(id, k)| view! {
                            <option value=id.to_string() selected=kit.get_untracked() == Some(*id)>{k.name.clone()}</option>
                        }).collect_view()}
                    </select>
                </div>
            })}
            <NumberField id="distance" label=Word::Distance value=distance unit=if imperial { "yd" } else { "m" }/>
            <div class="quick" role="group" aria-label=app.t(Word::Distance)>
                {quick.iter().map(|d| view! {
                    <button type="button" on:click=move |_| distance.set(d.to_string())
                        aria-pressed=move || (distance.get() == d.to_string()).to_string()>{d.to_string()}</button>
                }).collect_view()}
            </div>
            <div class="field">
                <label for="face">{app.t(Word::Face)}</label>
                <select id="face" on:change=move |e| face.set(event_target_value(&e))>
                    {Face::all().iter().map(|f| view! {
                        <option value=f.name selected=face.get_untracked() == f.name>{face_title(l, f)}</option>
                    }).collect_view()}
                </select>
            </div>
            <Choice label=Word::Plan name="plan" value=round set=move |v| round.set(v)
                choices=vec![(false, app.t(Word::FreePractice).to_owned()), (true, app.t(Word::Round).to_owned())]/>
            <Show when=move || round.get()>
                <Stepper id="sighting-ends" label=Word::SightingEnds value=sighting min=0 max=6/>
                <Stepper id="ends" label=Word::Ends value=ends min=1 max=30/>
            </Show>
            <Stepper id="per-end" label=Word::ArrowsPerEnd value=per_end min=1 max=12/>
            <Choice label=Word::SettingIs name="proven" value=proven set=move |v| proven.set(v)
                choices=vec![
                    (Proven::Guessed, app.t(Word::TrustUnknown).to_owned()),
                    (Proven::Predicted, app.t(Word::TrustPredicted).to_owned()),
                    (Proven::Shot, app.t(Word::TrustVerified).to_owned()),
                ]/>
            <div id="prior">{prior}</div>
            <NumberField id="reading" label=Word::ReadingNow value=reading hint=Word::Optional/>
            <Show when=move || proven.get() == Proven::Guessed>
                <p class="notice safety">{move || app.t(Word::NoteUnproven)}</p>
            </Show>
            <p class="wrong" role="alert">{move || wrong.get()}</p>
            <div class="dock"><button type="button" class="main" id="start" on:click=begin>{app.t(Word::Start)}</button></div>
            <h2>{app.t(Word::OpenSessions)}</h2>
            <Earlier/>
        </div>
    }
}

/// The spread that the session will begin with: what was shot at that distance, or the kit's number if the archer likes that better.
fn first_spread(app: App, seen: StoredValue<Vec<SpreadSeen>>, distance: &str, kit: Option<Uuid>) -> Option<String> {
    let unit = if app.imperial() { 0.9144 } else { 1.0 };
    let distance = Distance::from_metres(parse_decimal(distance)? * unit).ok()?;
    let kit = app.kits().into_iter().find(|(id, _)| Some(*id) == kit).map(|(_, k)| k);
    let of = |seen: &[SpreadSeen]| learn(seen, distance, kit.as_ref(), device::now_ms()).ok();
    let (plain, learnt) = (of(&[])?, seen.with_value(|seen| of(seen))?);
    let l = app.language();
    let spread = |x: &Learnt| {
        let mrad = l.number(&format!("{:.1}", x.spread.mrad()));
        format!("{mrad} mrad ({})", words::length(l, app.imperial(), x.spread.mrad() * distance.metres()))
    };
    let worth = |x: &Learnt| format!("{:.0}", x.worth);
    let own = app.f(Word::PriorKit, &[&spread(&plain), &worth(&plain)]);
    if learnt.sessions == 0 {
        let text = app.f(Word::PriorNone, &[&spread(&plain), &worth(&plain)]);
        return Some(controls::text("hint", &format!("{}: {text}", app.t(Word::PriorTitle))));
    }
    let values = [spread(&learnt), learnt.sessions.to_string(), learnt.shots.to_string(), worth(&learnt)];
    let shot = app.f(Word::PriorLearnt, &values.each_ref().map(String::as_str));
    let chosen = if app.prefs.with_untracked(|p| p.kit_spread) { "kit" } else { "shot" };
    Some(controls::choice("prior", app.t(Word::PriorTitle), &[("shot", shot), ("kit", own)], chosen))
}

/// Writes the reading of the elevation scale into a kit.
fn set_reading(app: App, id: Uuid, reading: f64) {
    let kit = app.kits().into_iter().find(|(k, _)| *k == id);
    if let Some((_, mut kit)) = kit {
        kit.elevation_reading = Some(reading);
        app.edit(id, Body::Kit(Box::new(kit)));
    }
}

#[component]
fn Earlier() -> impl IntoView {
    let app = app();
    let rows = move || {
        let l = app.language();
        let all = sessions(app);
        if all.is_empty() {
            return view! { <p>{app.t(Word::NoSessions)}</p> }.into_any();
        }
        let rows = all.into_iter().take(30).map(|(id, s)| {
            let total = app.log.with(|log| Sheet::of(log, id).map(|s| s.total())).unwrap_or_default();
            view! {
                <li>
                    <button type="button" class="session" on:click=move |_| open(app, id)>
                        <span>{device::date(s.at_ms, l.code())}</span>
                        <span>{words::distance(l, app.imperial(), s.distance_m)} " · " {Face::named(&s.face).map(|f| face_title(l, f)).unwrap_or_default()}</span>
                        <b>{format!("{} / {}", total.0, total.1)}</b>
                    </button>
                </li>
            }
        });
        view! { <ul class="sessions">{rows.collect_view()}</ul> }.into_any()
    };
    rows
}
