//! Archers whom the model does and does not describe (`checks::truth`): what the answer is worth to them, and whether what it
//! says comes true. The truth is drawn anew for every arrow to come and is not the model's; the program is told what an
//! archer would tell.
//!
//! Tolerances: shares are bounded by Hoeffding's inequality with a false alarm of 1e-6 each (`checks::statistics`), points by four
//! standard errors of the paired differences; what is forgiven beyond chance stands beside each check, with its reason.

use checks::statistics::Forecasts;
use checks::truth::rivals::Rival;
use checks::truth::rounds::Way;
use checks::truth::{World, crowd, face, honesty, regret, rounds, told};
use goldward_core::advice::Action;
use goldward_core::plane::Point;
use goldward_core::score::Scorer;
use goldward_core::shot::Shot;
use goldward_core::units::Shaft;

const FALSE_ALARM: f64 = 1e-6;
/// Sessions in the usual run, and in the slow one.
const QUICK: usize = 400;
const MANY: usize = 600;

fn scorer() -> Scorer {
    Scorer::new(face(), Shaft::default())
}

fn world(name: &str) -> World {
    World::find(name).unwrap()
}

/// Points that Goldward may lose more than the best rule of thumb.
const BEHIND: f64 = 0.7;

/// Goldward is best, or that close to it, beside every rule of thumb.
fn no_rule_is_better(names: &[&str], n: &[usize], sims: usize) {
    let scorer = scorer();
    for world in names.iter().map(|name| world(name)) {
        for n in n {
            let row = regret::row(&world, *n, sims, &scorer);
            for rival in Rival::ALL {
                let behind = row.behind(rival);
                eprintln!("{} {n}: {} against {} by {}", world.name, row.goldward(), row.rival(rival), rival.name());
                assert!(
                    behind.mean - 4.0 * behind.error < BEHIND,
                    "{}, {n} shots: {behind} points behind {}",
                    world.name,
                    rival.name()
                );
            }
        }
    }
}

#[test]
fn no_rule_of_thumb_is_better() {
    no_rule_is_better(&["usual", "no-flyers", "promise", "knocked", "wind", "tight"], &[3, 6], QUICK);
}

/// Every world with measured shots, groups of twelve too.
#[test]
#[ignore = "slow: run by cargo xtask test"]
fn no_rule_of_thumb_is_better_anywhere() {
    let all = World::all();
    let names: Vec<&str> = all.iter().map(|w| w.name).filter(|n| !["rings", "clock", "misses"].contains(n)).collect();
    no_rule_is_better(&names, &[3, 6, 12], MANY);
}

/// Who is described by the model loses little to one who knows every parameter: a point of 36 arrows, which is what not knowing
/// the spread, the flyers' odds, the end's offset and whether the setting is as told costs.
#[test]
fn close_to_one_who_knows_the_world() {
    for n in [3, 6] {
        let row = regret::row(&world("usual"), n, QUICK, &scorer());
        let behind = row.behind_known().unwrap();
        eprintln!("{n} shots: {behind} points behind one who knows");
        assert!(behind.mean - 4.0 * behind.error < 1.0, "{n} shots: {behind} points behind one who knows the world");
    }
}

/// What 80 % intervals hold, and what `p_better` comes to, at least and at most: the model has doubts that these archers do not
/// justify, so its intervals may be too wide for them; too narrow is what must not be.
fn honest(name: &str, n: usize, sims: usize, centre: [f64; 2], gain: [f64; 2], slack: f64) {
    let study = honesty::study(&world(name), n, sims, false, &scorer());
    let between = |what: &str, came: usize, of: usize, [low, high]: [f64; 2]| {
        let mut f = Forecasts::default();
        let share = came as f64 / of as f64;
        let allowed = share.clamp(low, high);
        eprintln!("{name} {n}: {what} {share:.3}");
        (0..of).for_each(|i| f.add(allowed, i < came));
        f.honest(what, &[0.0, 1.0], FALSE_ALARM, 0.0);
    };
    for (i, axis) in ["windage", "elevation"].into_iter().enumerate() {
        let came = study.outcomes.iter().filter(|o| o.holds[i]).count();
        between(&format!("{name}, {n}: the interval of {axis}"), came, sims, centre);
    }
    let gains: Vec<_> = study.outcomes.iter().filter_map(|o| o.gain).collect();
    between(&format!("{name}, {n}: the interval of the gain"), gains.iter().filter(|g| g.0).count(), gains.len(), gain);
    let mut better = Forecasts::default();
    study.better(false).iter().for_each(|(p, came)| better.add(*p, *came));
    better.honest(&format!("{name}, {n}: p_better"), &[0.0, 0.5, 0.7, 0.85, 1.0], FALSE_ALARM, slack);
}

#[test]
fn what_is_said_comes_true_where_the_model_holds() {
    honest("usual", 3, QUICK, [0.78, 0.88], [0.78, 0.88], 0.05);
    honest("usual", 6, QUICK, [0.78, 0.90], [0.78, 0.88], 0.05);
    for (k, class) in ["clean", "flyer", "stray"].into_iter().enumerate() {
        let study = honesty::study(&world("usual"), 6, QUICK, false, &scorer());
        let mut f = Forecasts::default();
        study.class(k).iter().for_each(|(p, came)| f.add(*p, *came));
        f.honest(class, &[0.0, 0.02, 0.1, 0.3, 0.7, 0.9, 0.98, 1.0], FALSE_ALARM, 0.03);
    }
}

/// Wind of 0.6 of the spread where 0.5 is assumed; other shapes; a promise that is wrong one time in seven, here always.
#[test]
fn what_is_said_is_not_far_off_where_it_does_not() {
    honest("wind", 6, QUICK, [0.76, 0.90], [0.75, 0.90], 0.12);
    honest("student", 6, QUICK, [0.76, 0.93], [0.76, 0.92], 0.08);
    honest("correlated", 6, QUICK, [0.76, 0.93], [0.76, 0.92], 0.08);
}

/// "After about k more shots, four times in five, no further touch would gain more than it costs": the centre after k more shots
/// against the true one, over the arrows then left. The doubts of the model make it come true more often than it says where
/// nothing is doubtful, and the wind of 0.6 of the spread less.
#[test]
fn settled_when_it_is_said_to_be() {
    for (name, n, [low, high]) in [
        ("usual", 3, [0.78, 0.95]),
        ("usual", 6, [0.78, 0.95]),
        ("no-flyers", 6, [0.78, 0.96]),
        ("verified", 6, [0.78, 0.95]),
        ("wind", 6, [0.70, 0.90]),
    ] {
        let study = honesty::study(&world(name), n, QUICK / 2, true, &scorer());
        let all: Vec<_> = study.outcomes.iter().filter_map(|o| o.more).collect();
        let came = all.iter().filter(|m| m.1).count();
        let share = came as f64 / all.len() as f64;
        eprintln!("{name} {n}: settled {share:.3} of {}", all.len());
        assert!(all.len() > QUICK / 4, "{name}: said only {} times", all.len());
        let mut f = Forecasts::default();
        (0..all.len()).for_each(|i| f.add(share.clamp(low, high), i < came));
        f.honest(&format!("{name}, {n}: settled"), &[0.0, 1.0], FALSE_ALARM, 0.0);
    }
}

/// Turned and mirrored shots have the turned and mirrored answer: nothing of the model knows a side but the end's offset, which
/// is wider in windage, so shots are turned by half a turn only.
#[test]
fn what_is_symmetric_stays_so() {
    let scorer = scorer();
    let world = world("usual");
    for number in 0..20 {
        let trial = checks::truth::Trial::draw(&world, 6, number);
        let answer = |f: fn(Point) -> Point| {
            let turned: Vec<Shot> =
                trial.places.iter().map(|p| told::shot(f(*p), 0, checks::truth::Calls::Places)).collect();
            told::answer(&world.told, &turned, &scorer)
        };
        let plain = answer(|p| p);
        let images: [fn(Point) -> Point; 3] =
            [|p| Point::new(-p.x_mm, p.y_mm), |p| Point::new(p.x_mm, -p.y_mm), |p| Point::new(-p.x_mm, -p.y_mm)];
        for image in images {
            let got = answer(image);
            let off = (got.reading.centre - image(plain.reading.centre)).radius_mm();
            assert!(off < 1e-6, "session {number}: the centre is off by {off} mm");
            let [want, got] = [image(told::shift(plain.advice.best.clicks)), told::shift(got.advice.best.clicks)];
            // Two clicks that are equally good may stand for each other.
            assert!((want - got).radius_mm() < 12.0, "session {number}: {want:?} against {got:?}");
        }
    }
}

/// Rings without a clock and misses tell no side.
#[test]
fn no_side_is_invented() {
    let scorer = scorer();
    for calls in [&["M", "M", "M"][..], &["4"; 6], &["9", "9", "8"], &["10"], &["M", "5", "7", "7"]] {
        for trust in [0.1, 1.0, 6.0] {
            let shots: Vec<Shot> = calls.iter().map(|c| Shot::called(c.parse().unwrap())).collect();
            let told = checks::truth::Told { trust, ..world("usual").told };
            let answer = told::answer(&told, &shots, &scorer);
            let centre = answer.reading.centre;
            assert!(centre.radius_mm() < 1e-6, "{calls:?}: a centre at {centre:?}");
            assert_eq!(answer.advice.clicks, [0, 0], "{calls:?}");
            assert_ne!(answer.advice.action, Action::Move, "{calls:?}");
            let cov = answer.reading.centre_cov;
            assert!(cov.xy.abs() < 1e-3 * cov.xx, "{calls:?}: {cov:?}");
        }
    }
}

/// Whole rounds against `1/(k + trust)` of what each arrow is off: never more than half a point below it without history.
#[test]
fn whole_rounds_beat_the_fixed_rule() {
    for (name, at_least) in [("usual", 1.0), ("no-flyers", -0.5), ("one-sided", -0.5)] {
        let played = rounds::play(&world(name), QUICK, Way::Rehearsed, &scorer());
        let ahead = played.ahead();
        eprintln!("{name}: {ahead} points ahead, {} touches", played.touches());
        assert!(ahead.mean + 4.0 * ahead.error > at_least, "{name}: {ahead} points ahead of the fixed rule");
    }
}

/// Following a round: the interval holds after an end as before it, and tapping `end` teaches nothing of the centre.
#[test]
fn an_end_teaches_nothing() {
    use goldward_core::pace::Event;
    let sims = 150;
    for name in ["usual", "wind"] {
        let world = world(name);
        let held = crowd(sims, |number| {
            let trial = checks::truth::Trial::draw(&world, 9, number);
            let mut pace = told::pace(&world.told, 12, 0.5, 0.0);
            let mut seen = None;
            for (i, shot) in trial.shots.iter().enumerate() {
                pace.take(Event::Shot(*shot)).unwrap();
                if i == 5 {
                    let before = pace.answer().unwrap().reading;
                    pace.take(Event::EndOfEnd).unwrap();
                    let after = pace.answer().unwrap().reading;
                    seen = Some((before, after));
                }
            }
            let (before, after) = seen.unwrap();
            let sd = before.centre_cov.mean_sd();
            let moved = (after.centre - before.centre).radius_mm() / sd;
            let r = pace.answer().unwrap().reading;
            let off = trial.centre - r.centre;
            let holds = off.x_mm.abs() <= 1.281_551_6 * r.centre_cov.xx.sqrt();
            (moved, after.centre_cov.mean_sd() / sd, holds)
        });
        for (number, (moved, ratio, _)) in held.iter().enumerate() {
            assert!(*moved < 0.15 && (0.93..1.15).contains(ratio), "{name} {number}: {moved} sd, sd times {ratio}");
        }
        let holds = held.iter().filter(|h| h.2).count();
        eprintln!("{name}: after nine shots the interval of windage holds {:.3}", holds as f64 / sims as f64);
        let mut f = Forecasts::default();
        let share = holds as f64 / sims as f64;
        (0..sims).for_each(|i| f.add(share.clamp(0.74, 0.94), i < holds));
        f.honest(name, &[0.0, 1.0], FALSE_ALARM, 0.0);
    }
}
