//! The face under the finger.

use goldward_core::advice::Action;
use goldward_core::face::Face;
use goldward_core::group::Reading;
use goldward_core::pace::Answer;
use goldward_core::plane::Point;
use goldward_core::shot::{Felt, Place};
use goldward_journal::Uuid;
use leptos::prelude::*;
use wasm_bindgen::JsCast;

use super::{Hand, clock, move_shot, record_shot};
use crate::app::device;
use crate::app::saved::Saved;
use crate::app::state::{App, app};
use crate::drawing::{self, Mark, Piece};
use crate::geometry::{Gesture, NEAR_ARROW_PX, ON_ARROW_PX, TOGETHER_MS, View, ZOOMS, loupe, travel, zoomed_mm};
use crate::sheet::score_word;
use crate::words::{self, Word};

/// Side of the picture that sizes are meant for, in pixels.
const SIDE: f64 = 344.0;
/// Radius of the loupe, in pixels.
const LOUPE: f64 = 58.0;
/// How much it enlarges.
const ENLARGES: f64 = 4.0;

/// A finger that is down.
#[derive(Clone, Copy, PartialEq)]
struct Drag {
    pointer: i32,
    from: (f64, f64),
    now: (f64, f64),
    side: f64,
    /// When it went down.
    since_ms: f64,
    /// How far it has been from where it went down.
    farthest: f64,
    /// The shot being moved and where it was, in the frame it was shot in.
    moves: Option<(Uuid, Point)>,
}

/// The face, and what lies on it.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let drag: RwSignal<Option<Drag>> = RwSignal::new(None);
    // The cross of the keyboard.
    let cross: RwSignal<Option<Point>> = RwSignal::new(None);
    let node = NodeRef::<leptos::svg::Svg>::new();
    let face = Memo::new(move |_| app.sheet.with(|s| s.as_ref().map(|s| s.face.name)));
    let face_of = move || Face::named(face.get().unwrap_or("122")).ok();
    let reach = Memo::new(move |_| zoomed_mm(face_of().map_or(610.0, Face::sheet_reach_mm), hand.zoom.get()));
    // Nearer, a face of several spots shows the one that has no arrow yet.
    let middle = Memo::new(move |_| {
        let near = ZOOMS[usize::from(hand.zoom.get()) % ZOOMS.len()] > 1.0;
        app.sheet
            .with(|s| {
                let s = s.as_ref().filter(|s| near && s.face.spots.len() > 1)?;
                Some(s.face.spot_centre(s.next_spot()))
            })
            .unwrap_or_default()
    });
    // Fingers that are down. With two of them the picture is made larger or smaller, and no arrow is set until all are up.
    let fingers: StoredValue<Vec<(i32, (f64, f64))>> = StoredValue::new(Vec::new());
    let pinch: StoredValue<Option<f64>> = StoredValue::new(None);
    // When a finger last went down beside the face: with one on it at the same time it is a pinch too, and no arrow.
    let beside: StoredValue<f64> = StoredValue::new(f64::NEG_INFINITY);
    let together = |a: f64, b: f64| (a - b).abs() < TOGETHER_MS;
    let listening = window_event_listener(leptos::ev::pointerdown, move |e| {
        let target = e.target().and_then(|t| t.dyn_into::<web_sys::Node>().ok());
        let svg: Option<web_sys::Node> = node.get_untracked().map(|svg| svg.unchecked_into());
        if svg.is_some_and(|svg| svg.contains(target.as_ref())) {
            return;
        }
        let now = device::ticks_ms();
        beside.set_value(now);
        if drag.get_untracked().is_some_and(|d| together(d.since_ms, now)) {
            drag.set(None);
        }
    });
    on_cleanup(move || listening.remove());
    let apart = move || {
        fingers.with_value(|f| match f.as_slice() {
            [(_, a), (_, b), ..] => Some((a.0 - b.0).hypot(a.1 - b.1).max(1.0)),
            _ => None,
        })
    };
    let view_of =
        move |side: f64| View { side_px: side, reach_mm: reach.get_untracked(), middle: middle.get_untracked() };
    // Where the shot would be if the finger let go now.
    let target = move || {
        let d = drag.get()?;
        let view = view_of(d.side);
        let (dx, dy) = travel(d.now.0 - d.from.0, d.now.1 - d.from.1);
        let k = view.mm_per_px();
        let base = d.moves.map_or_else(|| view.place(d.from.0, d.from.1), |(_, p)| p);
        Some(Point::new(base.x_mm + dx * k, base.y_mm - dy * k))
    };
    let at = move |e: &web_sys::PointerEvent| {
        let svg: web_sys::Element = node.get_untracked()?.unchecked_into();
        let r = svg.get_bounding_client_rect();
        // The bindings cut off the fraction of a pixel that a touch has.
        let exact = |name: &str| js_sys::Reflect::get(e, &name.into()).ok().and_then(|v| v.as_f64());
        Some(((exact("clientX")? - r.left(), exact("clientY")? - r.top()), r.width()))
    };
    let down = move |e: web_sys::PointerEvent| {
        if e.button() != 0 {
            return;
        }
        let Some((from, side)) = at(&e) else { return };
        e.prevent_default();
        if e.is_primary() {
            // The first finger: whatever was down before is up, even if nobody told.
            fingers.set_value(Vec::new());
            pinch.set_value(None);
        }
        fingers.update_value(|f| f.push((e.pointer_id(), from)));
        if let Some(svg) = node.get_untracked() {
            let _ = svg.unchecked_ref::<web_sys::Element>().set_pointer_capture(e.pointer_id());
        }
        if let Some(apart) = apart() {
            drag.set(None);
            pinch.set_value(Some(apart));
            return;
        }
        if !e.is_primary() && together(beside.get_value(), device::ticks_ms()) {
            return;
        }
        let moves = hand.chosen.get_untracked().filter(|_| hand.moving.get_untracked()).and_then(|id| {
            let sheet = app.sheet.get_untracked()?;
            let i = sheet.rows.iter().position(|r| r.id == id)?;
            let at = sheet.on_sheet(i, app.said.with_untracked(|s| s.answer.clone()).as_ref());
            // Pressed near the arrow it is dragged from where it is; elsewhere it goes there.
            let (x, y) = view_of(side).pixel(at);
            let near = (x - from.0).hypot(y - from.1) <= NEAR_ARROW_PX;
            Some((id, if near { at } else { view_of(side).place(from.0, from.1) }))
        });
        cross.set(None);
        let since_ms = device::ticks_ms();
        drag.set(Some(Drag { pointer: e.pointer_id(), from, now: from, side, since_ms, farthest: 0.0, moves }));
    };
    let follow = move |e: &web_sys::PointerEvent| {
        let (now, _) = at(e)?;
        fingers.update_value(|f| {
            for finger in f.iter_mut().filter(|f| f.0 == e.pointer_id()) {
                finger.1 = now;
            }
        });
        let d = drag.get_untracked().filter(|d| d.pointer == e.pointer_id())?;
        let farthest = d.farthest.max((now.0 - d.from.0).hypot(now.1 - d.from.1));
        let d = Drag { now, farthest, ..d };
        drag.set(Some(d));
        Some(d)
    };
    let slide = move |e: web_sys::PointerEvent| {
        follow(&e);
        let (Some(before), Some(now)) = (pinch.get_value(), apart()) else { return };
        let step = match now / before {
            r if r > 1.4 => 1,
            r if r < 0.7 => -1,
            _ => return,
        };
        pinch.set_value(Some(now));
        hand.zoom.update(|z| *z = nearer(*z, step));
    };
    let lift = move |e: &web_sys::PointerEvent| {
        fingers.update_value(|f| f.retain(|(id, _)| *id != e.pointer_id()));
        let last = fingers.with_value(Vec::is_empty);
        if last && pinch.get_value().is_some() {
            pinch.set_value(None);
        }
    };
    let up = move |e: web_sys::PointerEvent| {
        let d = follow(&e);
        let place = untrack(target);
        lift(&e);
        let Some((d, p)) = d.zip(place) else { return };
        drag.set(None);
        let gesture = Gesture::of(d.farthest, device::ticks_ms() - d.since_ms);
        let tapped = if gesture == Gesture::Tap { on_arrow(app, view_of(d.side), d.from) } else { None };
        match (gesture, tapped, d.moves) {
            (Gesture::Swipe, ..) => app.say(app.t(Word::ThatWasASwipe).to_owned()),
            (_, Some(id), Some((moved, _))) if id == moved => hand.choose(None, None),
            (_, Some(id), _) => hand.choose(Some(id), Some(view_of(d.side).place(d.from.0, d.from.1))),
            (_, None, Some((id, _))) => {
                move_shot(app, id, p);
                hand.choose(None, None);
            }
            (_, None, None) => set_arrow(app, hand, p),
        }
    };
    let cancel = move |e: web_sys::PointerEvent| {
        lift(&e);
        drag.set(None);
    };
    let key = move |e: web_sys::KeyboardEvent| {
        let step = if e.shift_key() { 1.0 } else { reach.get_untracked() / 40.0 };
        let moved = match e.key().as_str() {
            "ArrowLeft" => Point::new(-step, 0.0),
            "ArrowRight" => Point::new(step, 0.0),
            "ArrowUp" => Point::new(0.0, step),
            "ArrowDown" => Point::new(0.0, -step),
            "Enter" | " " => {
                if let Some(p) = cross.get_untracked() {
                    e.prevent_default();
                    record_shot(app, Place::At(p));
                }
                return;
            }
            "Escape" => {
                cross.set(None);
                drag.set(None);
                return;
            }
            _ => return,
        };
        e.prevent_default();
        cross.update(|c| *c = Some(c.unwrap_or(middle.get_untracked()) + moved));
    };
    let shown = move || target().or_else(|| cross.get());
    let told = move || {
        let p = shown()?;
        let (p, score) = app.sheet.with(|s| {
            let s = s.as_ref()?;
            let (_, p) = s.face.on_spot(p);
            Some((p, s.face.score(p, crate::sheet::shaft(&s.kit))))
        })?;
        Some(format!("{} · {}", score_word(score), words::place(app.language(), app.imperial(), p)))
    };
    let zooms = move || ["1×", "2×", "4×", "½×"][usize::from(hand.zoom.get()) % ZOOMS.len()];
    let view_box = move || {
        let r = reach.get();
        let m = middle.get();
        format!("{} {} {} {}", m.x_mm - r, -m.y_mm - r, 2.0 * r, 2.0 * r)
    };
    // A quick slide over the face is no swipe of the page: Chromium would take the next tap, wherever, for the one that stops it.
    view! {
        <div class="board">
            <svg node_ref=node class="face" viewBox=view_box tabindex="0" role="application"
                aria-label=move || app.t(Word::FaceHelp)
                on:touchmove=|e| e.prevent_default()
                on:pointerdown=down on:pointermove=slide on:pointerup=up on:pointercancel=cancel on:keydown=key>
                <g id="art">
                    {move || face_of().map(art)}
                    <g class="lay">{move || lay(reach.get(), middle.get())}</g>
                </g>
                {move || shown().map(|p| sight_cross(p, reach.get()))}
            </svg>
            {move || {
                let d = drag.get()?;
                let p = target()?;
                Some(glass(d, p, reach.get(), app.prefs.with(|p| p.left_handed)))
            }}
            <div class="strip"><p class="told" aria-live="polite">
                {move || told().unwrap_or_else(|| {
                    let n = hand.chosen.get().filter(|_| hand.moving.get()).and_then(|id| {
                        app.sheet.with(|s| s.as_ref()?.rows.iter().position(|r| r.id == id))
                    });
                    match n {
                        Some(i) => app.f(Word::MoveShotHelp, &[&(i + 1).to_string()]),
                        None if pale(app) => app.t(Word::ShotBefore).to_owned(),
                        None if app.sheet.with(|s| s.as_ref().is_some_and(|s| !s.rows.is_empty())) => String::new(),
                        None => app.t(Word::PressFace).to_owned(),
                    }
                })}
            </p><Saved/></div>
            {clock::start()}
            <button type="button" class="zoom" aria-label=move || format!("{} {}", app.t(Word::Zoom), zooms())
                on:click=move |_| hand.zoom.update(|z| *z = (*z + 1) % ZOOMS.len() as u8)>
                {zooms}
            </button>
        </div>
    }
}

/// A step of the zoom nearer (1) or farther (-1), from the farthest to the nearest.
fn nearer(zoom: u8, step: i32) -> u8 {
    // In the order of their size: a half, one, two, four.
    const ORDER: [u8; 4] = [3, 0, 1, 2];
    let at = ORDER.iter().position(|z| *z == zoom).unwrap_or(1) as i32;
    ORDER[(at + step).clamp(0, 3) as usize]
}

/// Sets an arrow at a place.
fn set_arrow(app: App, hand: Hand, p: Point) {
    hand.choose(None, None);
    record_shot(app, Place::At(p));
}

/// The arrow of the end on the face that a finger at `px` is on, if it is on one.
fn on_arrow(app: App, view: View, px: (f64, f64)) -> Option<Uuid> {
    let answer = app.said.with_untracked(|s| s.answer.clone());
    app.sheet.with_untracked(|sheet| {
        let sheet = sheet.as_ref()?;
        let distance = |i: usize| {
            let (x, y) = view.pixel(sheet.on_sheet(i, answer.as_ref()));
            (x - px.0).hypot(y - px.1)
        };
        let near = (0..sheet.rows.len()).filter(|i| sheet.rows[*i].end > sheet.ends_done);
        let near = near.map(|i| (i, distance(i))).filter(|(_, d)| *d <= ON_ARROW_PX);
        near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(i, _)| sheet.rows[i].id)
    })
}

/// Whether arrows are shown that were shot before the sight was moved, and none since.
fn pale(app: App) -> bool {
    app.sheet.with(|s| s.as_ref().is_some_and(|s| s.rows.last().is_some_and(|_| s.is_before_touch(s.rows.len() - 1))))
}

/// The zones with their values, each spot as it hangs.
pub(in crate::app) fn art(face: &'static Face) -> impl IntoView {
    let spots = face.spots.iter();
    spots.map(move |(x, y)| view! { <g transform=format!("translate({x} {})", -y)>{spot(face)}</g> }).collect_view()
}

/// One spot about its centre.
fn spot(face: &'static Face) -> impl IntoView {
    let values = drawing::pieces(face).filter_map(|piece| match piece {
        Piece::Value { away_mm, size_mm, value, ink } => {
            let y = -away_mm + drawing::VALUE_DROP * size_mm;
            Some(view! { <text x="0" y=y font-size=size_mm fill=ink text-anchor="middle">{value}</text> })
        }
        Piece::Zone { .. } | Piece::Inner { .. } => None,
    });
    let rings = drawing::pieces(face).filter_map(|piece| {
        let (r, fill, line) = match piece {
            Piece::Zone { radius_mm, paint: (fill, line) } => (radius_mm, fill, line),
            Piece::Inner { radius_mm, line } => (radius_mm, "none", line),
            Piece::Value { .. } => return None,
        };
        Some(view! { <circle r=r fill=fill stroke=line stroke-width="1" vector-effect="non-scaling-stroke"/> })
    });
    view! {
        {rings.collect_view()}
        <g class="values" aria-hidden="true">{values.collect_view()}</g>
    }
}

/// Shots, centre, ellipse and move.
fn lay(reach: f64, middle: Point) -> Option<impl IntoView> {
    let app = app();
    let hand = expect_context::<Hand>();
    let px = 2.0 * reach / SIDE;
    let sheet = app.sheet.get()?;
    let answer = app.said.get().answer;
    let chosen = hand.chosen.get();
    let several = sheet.face.spots.len() > 1;
    let of_group = sheet.face.spot_centre(None);
    let shots = sheet.rows.iter().enumerate().map(|(i, row)| {
        let mark = answer.as_ref().map_or(Mark::Clean, |a| drawing::mark(a, i));
        let p = sheet.on_sheet(i, answer.as_ref());
        // What is beside the picture stands at its edge; not the arrows of another spot than the one that is shown nearer.
        let edge = if several && reach < sheet.face.sheet_reach_mm() { f64::INFINITY } else { 0.97 * reach };
        let inside = |v: f64, middle: f64| v.clamp(middle - edge, middle + edge);
        let (x, y) = (inside(p.x_mm, middle.x_mm), inside(-p.y_mm, -middle.y_mm));
        let called = matches!(row.place, Place::Called(_));
        let now = row.end > sheet.ends_done;
        let class = format!(
            "shot {}{}{}{}{}",
            mark.name(),
            if sheet.is_before_touch(i) { " before" } else { "" },
            if called { " called" } else { "" },
            if now { " now" } else { "" },
            if chosen == Some(row.id) { " chosen" } else { "" }
        );
        let r = if now { 6.5 } else { 4.5 } * px;
        let felt = match row.felt {
            Felt::Good => "+",
            Felt::Bad => "−",
            Felt::Unmarked => "",
        };
        let label = (now || chosen == Some(row.id)).then(|| format!("{}{felt}", i + 1));
        view! {
            <path class=class d=drawing::outline(mark, x, y, r)/>
            {label.map(|t| view! { <text class="number" x=x + 8.0 * px y=y - 6.0 * px font-size=12.0 * px>{t}</text> })}
        }
    });
    let shots = shots.collect_view();
    Some(view! {
        {answer.filter(|a| a.reading.shots > 0).map(|a| {
            // The group is one, whatever spot each arrow was shot at: drawn about the middle one.
            view! { <g transform=format!("translate({} {})", of_group.x_mm, -of_group.y_mm)>{summary(&a, reach)}</g> }
        })}
        {shots}
    })
}

/// Ellipse of the centre, ellipse of the spread, cross, and the arrow of the move.
pub(in crate::app) fn summary(answer: &Answer, reach: f64) -> impl IntoView + use<> {
    let px = 2.0 * reach / SIDE;
    let Reading { centre, centre_cov, spread, .. } = answer.reading.clone();
    let (x, y) = (centre.x_mm, -centre.y_mm);
    let one = move |(rx, ry, turn): (f64, f64, f64), class: &'static str| {
        view! { <ellipse class=class rx=rx ry=ry transform=format!("translate({x:.2} {y:.2}) rotate({turn:.2})")/> }
    };
    let s = 9.0 * px;
    let cross = format!("M{:.2} {y:.2}h{:.2}M{x:.2} {:.2}v{:.2}", x - s, 2.0 * s, y - s, 2.0 * s);
    let arrow = if answer.advice.action == Action::Move {
        drawing::arrow(centre, centre - answer.advice.shift_mm, 12.0 * px)
    } else {
        String::new()
    };
    view! {
        {one(drawing::ellipse(spread), "spread halo")}
        {one(drawing::ellipse(spread), "spread")}
        {one(drawing::ellipse(centre_cov), "centre halo")}
        {one(drawing::ellipse(centre_cov), "centre")}
        <path class="cross halo" d=cross.clone()/>
        <path class="cross" d=cross/>
        {(!arrow.is_empty()).then(|| view! { <path class="move halo" d=arrow.clone()/><path class="move" d=arrow/> })}
    }
}

/// The cross where the shot will be.
fn sight_cross(p: Point, reach: f64) -> impl IntoView {
    let px = 2.0 * reach / SIDE;
    let (x, y) = (p.x_mm, -p.y_mm);
    let (near, far) = (4.0 * px, 22.0 * px);
    let d = format!(
        "M{:.2} {y:.2}H{:.2}M{:.2} {y:.2}H{:.2}M{x:.2} {:.2}V{:.2}M{x:.2} {:.2}V{:.2}",
        x - far,
        x - near,
        x + near,
        x + far,
        y - far,
        y - near,
        y + near,
        y + far
    );
    view! {
        <path class="aim halo" d=d.clone()/>
        <path class="aim" d=d/>
        <circle class="aim dot" cx=x cy=y r=1.2 * px/>
    }
}

/// The loupe beside the finger.
fn glass(d: Drag, p: Point, reach: f64, left: bool) -> impl IntoView {
    let (x, y) = loupe(d.now, d.side, LOUPE, left);
    let half = LOUPE * 2.0 * reach / d.side / ENLARGES;
    let view_box = format!("{:.2} {:.2} {:.2} {:.2}", p.x_mm - half, -p.y_mm - half, 2.0 * half, 2.0 * half);
    let side = 2.0 * LOUPE;
    let style = format!("left:{:.1}px;top:{:.1}px;width:{side}px;height:{side}px", x - LOUPE, y - LOUPE);
    let s = 0.62 * half;
    let cross = format!(
        "M{:.2} {:.2}h{:.2}m{:.2} 0h{:.2}M{:.2} {:.2}v{:.2}m0 {:.2}v{:.2}",
        p.x_mm - half,
        -p.y_mm,
        s,
        2.0 * (half - s),
        s,
        p.x_mm,
        -p.y_mm - half,
        s,
        2.0 * (half - s),
        s
    );
    view! {
        <svg class="loupe" style=style viewBox=view_box aria-hidden="true">
            <use href="#art"/>
            <path class="aim halo" d=cross.clone()/>
            <path class="aim" d=cross/>
            <circle class="aim dot" cx=p.x_mm cy=-p.y_mm r=half / 40.0/>
        </svg>
    }
}
