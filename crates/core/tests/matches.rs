//! Matches: what must hold whatever the numbers are.

use goldward_core::advice::Outlook;
use goldward_core::face::Face;
use goldward_core::group::ClassOdds;
use goldward_core::matches::{
    Arrow, Duel, FORMATS, Format, Opponent, Points, Side, Standing, Verdict, chance, nearer, plan,
};
use goldward_core::random::Random;
use goldward_core::score::Rings;
use goldward_core::units::Shaft;

fn rings(face: &str) -> Rings {
    Rings::new(Face::named(face).unwrap(), Shaft::default())
}

fn outlook(off_mm: f64, centre_sd: f64, spread: f64, touch_cost: f64) -> Outlook<'static> {
    Outlook {
        off_mm,
        centre_variance: centre_sd * centre_sd,
        spread_variance: spread * spread,
        end_variance: 0.05 * spread * spread,
        information: 0.9,
        setting_variance: 4.0,
        drift_variance: 25.0,
        ahead: &[],
        touch_cost,
    }
}

/// Any standing that a match of `format` can come to, and open.
fn standing(format: &Format, random: &mut Random) -> Standing {
    loop {
        let ends = (random.uniform() * f64::from(format.ends)) as u32;
        let made = (0..ends).map(|_| {
            let end = |u: f64| (20.0 + 11.0 * u) as u32;
            (end(random.uniform()), end(random.uniform()))
        });
        let mut now = Standing::after(format, made.collect::<Vec<_>>());
        let part = |u: f64| Side { points: 0, end_shots: (3.0 * u) as u32, end_points: 9 * (3.0 * u) as u32 };
        let (mine, theirs) = (part(random.uniform()), part(random.uniform()));
        now.mine = Side { points: now.mine.points, ..mine };
        now.theirs = Side { points: now.theirs.points, ..theirs };
        if now.verdict(format) == Verdict::Open {
            return now;
        }
    }
}

#[test]
fn equal_archers_win_one_in_two() {
    for face in ["122", "80-6", "40-3v", "40-3v-c"] {
        let rings = rings(face);
        for average in [7.3, 8.5, 9.4] {
            let arrow = Arrow::averaging(&rings, ClassOdds::default(), average).unwrap();
            assert!((arrow.points.mean() - average).abs() < 1e-6);
            assert!((nearer(&rings, &arrow, &arrow) - 0.5).abs() < 1e-12);
            for format in FORMATS {
                let p = chance(&rings, &format, &Standing::default(), &arrow, &arrow);
                assert!((p - 0.5).abs() < 1e-9, "{face} {average} {}: {p}", format.key);
            }
        }
    }
}

#[test]
fn what_one_wins_the_other_loses() {
    let rings = rings("122");
    let mut random = Random::seeded(3);
    let arrow = |points: f64| Arrow::averaging(&rings, ClassOdds::default(), points).unwrap();
    for _ in 0..40 {
        let (a, b) = (arrow(7.0 + 2.8 * random.uniform()), arrow(7.0 + 2.8 * random.uniform()));
        for format in FORMATS {
            let now = standing(&format, &mut random);
            let swapped = Standing { mine: now.theirs, theirs: now.mine, ..now };
            let (p, q) = (chance(&rings, &format, &now, &a, &b), chance(&rings, &format, &swapped, &b, &a));
            assert!((0.0..=1.0).contains(&p) && (p + q - 1.0).abs() < 1e-9, "{now:?}: {p} {q}");
        }
    }
}

#[test]
fn a_stronger_opponent_never_helps_and_a_point_never_hurts() {
    let rings = rings("122");
    let mut random = Random::seeded(4);
    let o = outlook(60.0, 40.0, 130.0, 0.5);
    let own = Arrow::averaging(&rings, ClassOdds::default(), 8.8).unwrap();
    for format in FORMATS {
        for _ in 0..6 {
            let now = standing(&format, &mut random);
            let mut last = [1.0; 3];
            for average in [7.0, 8.0, 8.6, 9.1, 9.6] {
                let theirs = Arrow::averaging(&rings, ClassOdds::default(), average).unwrap();
                let duel = Duel { format, standing: now, opponent: Opponent::averaging(average) };
                let p = plan(&rings, &o, ClassOdds::default(), &duel).unwrap();
                let these = [chance(&rings, &format, &now, &own, &theirs), p.now + p.cost, p.never];
                for (now, before) in these.iter().zip(last) {
                    assert!(*now <= before + 1e-9, "{}: {average}: {these:?} {last:?}", format.key);
                }
                last = these;
                if now.mine.end_points < 10 * now.mine.end_shots {
                    let mut more = now;
                    more.mine.end_points += 1;
                    assert!(chance(&rings, &format, &more, &own, &theirs) >= these[0] - 1e-12);
                }
            }
        }
    }
}

#[test]
fn a_sight_that_is_known_leaves_the_plain_chance() {
    // No error of the centre, none of a touch: every way is the chance with arrows drawn by themselves.
    let rings = rings("122");
    let mut random = Random::seeded(5);
    let mut o = outlook(0.0, 1e-6, 120.0, 0.0);
    (o.end_variance, o.setting_variance, o.drift_variance) = (0.0, 1e-12, 0.0);
    let own = Arrow::shot(&rings, ClassOdds::default(), 0.0, 120.0 * 120.0);
    let theirs = Arrow::averaging(&rings, ClassOdds::default(), 8.4).unwrap();
    for format in FORMATS {
        for _ in 0..10 {
            let now = standing(&format, &mut random);
            let duel = Duel { format, standing: now, opponent: Opponent::averaging(8.4) };
            let p = plan(&rings, &o, ClassOdds::default(), &duel).unwrap();
            let want = chance(&rings, &format, &now, &own, &theirs);
            for (what, got) in
                [("now", p.now), ("never", p.never)].into_iter().chain(p.wait.iter().map(|w| ("wait", w.1)))
            {
                assert!((got - want).abs() < 1e-7, "{} {now:?} {what}: {got} {want}", format.key);
            }
        }
    }
}

#[test]
fn where_nothing_is_at_stake_a_touch_costs_nothing_and_gains_nothing() {
    let rings = rings("122");
    let o = outlook(80.0, 60.0, 130.0, 0.5);
    let lost_set = Standing {
        ends_done: 2,
        mine: Side { points: 2, end_shots: 2, end_points: 11 },
        theirs: Side { points: 2, end_shots: 3, end_points: 28 },
        single: None,
    };
    let duel = |standing| Duel { format: FORMATS[0], standing, opponent: Opponent::averaging(8.5) };
    let p = plan(&rings, &o, ClassOdds::default(), &duel(lost_set)).unwrap();
    assert!(p.cost < 1e-9 && p.point < 1e-9, "the set is lost, its last arrow free: {p:?}");
    let close = Standing { mine: Side { end_points: 19, ..lost_set.mine }, ..lost_set };
    let close = plan(&rings, &o, ClassOdds::default(), &duel(close)).unwrap();
    assert!(close.point > 0.02, "{close:?}");
    // A match far ahead.
    let ahead = Standing { ends_done: 4, mine: Side { points: 118, ..Side::default() }, ..Standing::default() };
    let total = Duel { format: FORMATS[1], standing: ahead, opponent: Opponent::averaging(8.5) };
    let p = plan(&rings, &o, ClassOdds::default(), &total).unwrap();
    assert!(p.never > 1.0 - 1e-9 && p.cost < 1e-9, "{p:?}");
}

#[test]
fn sums_add_up_to_one() {
    let mut random = Random::seeded(6);
    for _ in 0..50 {
        let raw: Vec<f64> = (0..11).map(|_| random.uniform()).collect();
        let sum: f64 = raw.iter().sum();
        let p = Points::new(raw.iter().map(|x| x / sum).collect()).unwrap();
        for n in 0..=6 {
            let of_n = p.times(n);
            assert!((of_n.get().iter().sum::<f64>() - 1.0).abs() < 1e-12);
            assert!((of_n.mean() - f64::from(n) * p.mean()).abs() < 1e-9);
            assert!((of_n.variance() - f64::from(n) * p.variance()).abs() < 1e-9);
        }
    }
    assert!(Points::new(vec![0.4, 0.4]).is_err() && Points::new(vec![1.5, -0.5]).is_err());
}

#[test]
fn a_match_that_cannot_be_is_refused() {
    let rings = rings("122");
    let o = outlook(0.0, 10.0, 130.0, 0.5);
    let try_it = |format: Format, standing: Standing, opponent: Opponent| {
        plan(&rings, &o, ClassOdds::default(), &Duel { format, standing, opponent })
    };
    let fine = Standing::default();
    assert!(try_it(FORMATS[0], fine, Opponent::averaging(10.0)).is_err());
    assert!(try_it(FORMATS[0], fine, Opponent::averaging(f64::NAN)).is_err());
    assert!(try_it(FORMATS[0], Standing { ends_done: 6, ..fine }, Opponent::default()).is_err());
    let much = Standing { ends_done: 1, mine: Side { points: 3, ..Side::default() }, ..fine };
    assert!(try_it(FORMATS[0], much, Opponent::default()).is_err());
    let both = Standing {
        ends_done: 1,
        mine: Side { points: 2, ..Side::default() },
        theirs: Side { points: 2, ..Side::default() },
        single: None,
    };
    assert!(try_it(FORMATS[0], both, Opponent::default()).is_err());
    assert!(FORMATS[0].with(0, 3, None).is_err() && FORMATS[0].with(5, 3, Some(11)).is_err());
    assert!(try_it(FORMATS[0].with(24, 12, Some(40)).unwrap(), fine, Opponent::default()).is_ok());
    assert!(try_it(FORMATS[1].with(24, 6, None).unwrap(), fine, Opponent { average: None, seen: (3, 27) }).is_ok());
}

#[test]
fn the_single_arrow_decides_where_both_are_level_and_nowhere_else() {
    let rings = rings("122");
    let o = outlook(20.0, 60.0, 130.0, 0.5);
    for format in FORMATS {
        let level = Standing::after(&format, [(27, 27); 5]);
        assert_eq!(level.verdict(&format), Verdict::ShootOff);
        let told = |single| {
            let standing = Standing { single, ..level };
            let duel = Duel { format, standing, opponent: Opponent::averaging(8.5) };
            (standing.verdict(&format), plan(&rings, &o, ClassOdds::default(), &duel).unwrap().never)
        };
        let (_, open) = told(None);
        assert!(open > 0.1 && open < 0.9, "{open}");
        assert_eq!(told(Some(true)), (Verdict::Won, 1.0));
        assert_eq!(told(Some(false)), (Verdict::Lost, 0.0));
        // A match that was not level is decided by its ends.
        let won = Standing { single: Some(false), ..Standing::after(&format, [(28, 27); 5]) };
        assert_eq!(won.verdict(&format), Verdict::Won);
    }
}
