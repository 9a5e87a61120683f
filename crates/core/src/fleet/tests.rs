use super::*;
use crate::random::Random;

/// Shots of a fleet with the given offsets (mrad), `each` of every arrow in ends of all arrows, ends that wander by
/// `ends_sd` and flyers as the group model has them.
fn shoot(offsets: &[Offset], each: usize, spread: f64, ends_sd: f64, random: &mut Random) -> Vec<ArrowShot> {
    let mut shots = Vec::new();
    for end in 0..each {
        let (dx, dy) = random.normal_pair();
        for (arrow, o) in offsets.iter().enumerate() {
            let (x, y) = random.normal_pair();
            let kappa = crate::group::KAPPA[random.choose(&ClassOdds::default().get())].sqrt();
            let at = Offset {
                right_mrad: 2.0 + ends_sd * dx + o.right_mrad + spread * kappa * x,
                up_mrad: -1.0 + ends_sd * dy + o.up_mrad + spread * kappa * y,
            };
            shots.push(ArrowShot { session: end % 2, end, arrow, at, felt: Felt::Unmarked });
        }
    }
    shots
}

fn one_bad() -> Vec<Offset> {
    let mut offsets = vec![Offset::default(); 12];
    offsets[6] = Offset { right_mrad: 1.5, up_mrad: -1.2 };
    offsets
}

#[test]
fn the_bad_arrow_is_found_and_no_other() {
    let shots = shoot(&one_bad(), 24, 1.5, 0.5, &mut Random::seeded(5));
    let fleet = read(&shots, &Question::default()).unwrap();
    let accused: Vec<usize> = fleet.arrows.iter().filter(|v| v.accused).map(|v| v.arrow).collect();
    assert_eq!(accused, [6], "{fleet:?}");
    let bad = &fleet.arrows[6];
    let sd = bad.offset_cov_mrad2.mean_sd();
    assert!((bad.offset.right_mrad - 1.5).abs() < 4.0 * sd && (bad.offset.up_mrad + 1.2).abs() < 4.0 * sd, "{bad:?}");
    assert!(bad.p_off > 0.95 && bad.more_shots.is_none() && bad.p_adjusted < 0.01);
    // A spread of 1.5 from 288 shots: five standard errors of about 3 %.
    assert!((fleet.spread_mrad() / 1.5 - 1.0).abs() < 0.15, "{}", fleet.spread_mrad());
    assert_eq!((fleet.sessions, fleet.ends), (2, 24));
}

#[test]
fn few_shots_accuse_nobody_and_say_how_many_more() {
    let shots = shoot(&one_bad(), 3, 1.5, 0.0, &mut Random::seeded(9));
    let fleet = read(&shots, &Question::default()).unwrap();
    assert!(fleet.arrows.iter().all(|v| v.p_off < 0.99));
    assert!(fleet.arrows.iter().any(|v| v.more_shots.is_some_and(|n| n > 1 && n <= MOST_MORE)), "{fleet:?}");
}

#[test]
fn order_turning_and_moving_change_nothing() {
    let mut random = Random::seeded(21);
    let shots = shoot(&one_bad(), 8, 1.0, 0.3, &mut random);
    let fleet = read(&shots, &Question::default()).unwrap();
    let close = |a: f64, b: f64, what: &str| assert!((a - b).abs() < 2e-3 * (1.0 + b.abs()), "{what}: {a} {b}");
    // Another order of the shots.
    let mut order: Vec<usize> = (0..shots.len()).collect();
    random.shuffle(&mut order);
    let shuffled: Vec<ArrowShot> = order.iter().map(|i| shots[*i]).collect();
    // Every session's centre elsewhere; seen from the other side.
    let moved: Vec<ArrowShot> = shots
        .iter()
        .map(|s| {
            let shift = 3.0 * s.session as f64;
            let at = Offset { right_mrad: -s.at.right_mrad + shift, up_mrad: s.at.up_mrad - 2.0 * shift };
            ArrowShot { at, ..*s }
        })
        .collect();
    // A quarter turn.
    let turned: Vec<ArrowShot> = shots
        .iter()
        .map(|s| ArrowShot { at: Offset { right_mrad: -s.at.up_mrad, up_mrad: s.at.right_mrad }, ..*s })
        .collect();
    let shuffled = read(&shuffled, &Question::default()).unwrap();
    let moved = read(&moved, &Question::default()).unwrap();
    let turned = read(&turned, &Question::default()).unwrap();
    for a in 0..12 {
        let v = &fleet.arrows[a];
        for other in [&shuffled, &moved, &turned] {
            close(other.arrows[a].p_off, v.p_off, "p_off");
            close(other.arrows[a].spread_ratio[0], v.spread_ratio[0], "own spread");
        }
        close(moved.arrows[a].offset.right_mrad, -v.offset.right_mrad, "mirrored");
        close(moved.arrows[a].offset.up_mrad, v.offset.up_mrad, "moved");
        close(turned.arrows[a].offset.up_mrad, v.offset.right_mrad, "turned");
        close(turned.arrows[a].offset_cov_mrad2.yy, v.offset_cov_mrad2.xx, "turned covariance");
    }
}

#[test]
fn a_loose_nock_shows_in_the_own_spread() {
    let mut random = Random::seeded(4);
    let mut shots = shoot(&[Offset::default(); 6], 40, 1.0, 0.0, &mut random);
    for s in shots.iter_mut().filter(|s| s.arrow == 2) {
        let (x, y) = random.normal_pair();
        s.at.right_mrad += 1.5 * x;
        s.at.up_mrad += 1.5 * y;
    }
    let fleet = read(&shots, &Question::default()).unwrap();
    let wide: Vec<usize> = fleet.arrows.iter().filter(|v| v.p_wide > 0.9).map(|v| v.arrow).collect();
    assert_eq!(wide, [2], "{fleet:?}");
    let [ratio, low, high] = fleet.arrows[2].spread_ratio;
    assert!(low < ratio && ratio < high && low > 1.2, "{ratio} {low} {high}");
}

#[test]
fn arrows_in_ends_of_their_own_are_told_apart_only_as_far_as_ends_wander() {
    // Six arrows in one end, six in the next: a difference between the halves may be the ends'.
    let mut random = Random::seeded(14);
    let mut shots = Vec::new();
    for end in 0..20 {
        let shift = random.normal();
        for k in 0..6 {
            let (x, y) = random.normal_pair();
            let at = Offset { right_mrad: shift + x, up_mrad: y };
            shots.push(ArrowShot { session: 0, end, arrow: k + 6 * (end % 2), at, felt: Felt::Unmarked });
        }
    }
    let fleet = read(&shots, &Question::default()).unwrap();
    assert!(fleet.arrows.iter().all(|v| !v.accused), "{fleet:?}");
}

#[test]
fn what_cannot_be_read_is_refused() {
    let shot = |arrow: usize, x: f64| ArrowShot {
        session: 0,
        end: 0,
        arrow,
        at: Offset { right_mrad: x, up_mrad: -x * x },
        felt: Felt::Unmarked,
    };
    let question = Question::default();
    assert_eq!(read(&[shot(1, 0.0), shot(1, 1.0)], &question), Err(FleetError::OneArrow { arrows: 1 }));
    assert!(matches!(read(&[shot(0, 0.0), shot(1, 1.0)], &question), Err(FleetError::TooFew { .. })));
    assert_eq!(read(&[shot(0, 1.0), shot(1, 1.0), shot(0, 1.0), shot(1, 1.0)], &question), Err(FleetError::NoSpread));
    let many: Vec<ArrowShot> = (0..80).map(|a| shot(a, a as f64)).collect();
    assert!(matches!(read(&many, &question), Err(FleetError::TooManyArrows { arrows: 80 })));
    let four = [shot(0, 0.0), shot(1, 1.0), shot(0, 0.4), shot(1, f64::NAN)];
    assert!(matches!(read(&four, &question), Err(FleetError::OutOfRange { .. })));
    let wild = Question { fdr: 0.9, ..question };
    assert!(matches!(read(&many[..4], &wild), Err(FleetError::OutOfRange { .. })));
}

#[test]
fn a_tighter_setting_is_found_and_fatigue_is_not_taken_for_one() {
    let mut random = Random::seeded(31);
    // In turn: an end before, an end after, while the archer tires from 1 to 2 mrad.
    let mut series = |ratio: f64| {
        let mut sides = [Vec::new(), Vec::new()];
        for end in 0..20 {
            for (side, shots) in sides.iter_mut().enumerate() {
                let spread = (1.0 + end as f64 / 19.0) * if side == 1 { ratio } else { 1.0 };
                for _ in 0..6 {
                    let (x, y) = random.normal_pair();
                    let at = Offset { right_mrad: spread * x + 0.6 * side as f64, up_mrad: spread * y };
                    shots.push(ArrowShot { session: 0, end, arrow: 0, at, felt: Felt::Unmarked });
                }
            }
        }
        sides.map(|s| compare::Setting::read(&s, ClassOdds::new([1.0, 0.0, 0.0]).unwrap()).unwrap())
    };
    let [before, after] = series(0.7);
    let got = compare::compare(&before, &after, true).unwrap();
    let (paired, pairs) = got.paired.unwrap();
    assert_eq!(pairs, 20);
    assert!(paired.interval[0] < 0.7 && 0.7 < paired.interval[1] && paired.p_tighter > 0.95, "{paired:?}");
    let centre = got.centre.unwrap();
    assert!((centre.difference[0] - 0.6).abs() < 0.5 && centre.p_value < 0.1, "{centre:?}");
    let trend = session::trend(&before).unwrap();
    assert!(trend.p_grows > 0.95 && trend.interval[0] < 2.0 && 2.0 < trend.interval[1], "{trend:?}");
    let [before, after] = series(1.0);
    let got = compare::compare(&before, &after, false).unwrap();
    assert!(got.spread.interval[0] < 1.0 && 1.0 < got.spread.interval[1], "{got:?}");
    assert_eq!(before.shots_an_end(), 6);
    let few = compare::Setting { ends: before.ends[..3].to_vec(), ..before.clone() };
    assert!(matches!(compare::compare(&few, &after, true), Err(FleetError::TooFewEnds { ends: 3, .. })));
}

#[test]
fn felt_marks_earn_their_weight() {
    let mut random = Random::seeded(77);
    let mut series = |knows: bool| {
        let mut shots = Vec::new();
        for i in 0..240_usize {
            let class = random.choose(&ClassOdds::default().get());
            let k = crate::group::KAPPA[class].sqrt();
            let (x, y) = random.normal_pair();
            let bad = random.uniform() < if knows && class > 0 { 0.8 } else { 0.1 };
            let felt = if bad { Felt::Bad } else { Felt::Unmarked };
            shots.push(ArrowShot {
                session: 0,
                end: i / 6,
                arrow: 0,
                at: Offset { right_mrad: k * x, up_mrad: k * y },
                felt,
            });
        }
        session::felt_marks(&shots, ClassOdds::default()).unwrap()
    };
    let knows = series(true);
    assert!(knows.tell() && knows.likelihood_ratio[0] > 2.0, "{knows:?}");
    let guesses = series(false);
    assert!(!guesses.tell(), "{guesses:?}");
    assert!(guesses.bad_odds.get()[0] > knows.bad_odds.get()[0] && knows.bad_odds.get()[0] < 0.75);
    let [low, mid, high] = [knows.sensitivity[1], knows.sensitivity[0], knows.sensitivity[2]];
    assert!(0.0 <= low && low < mid && mid < high && high <= 1.0);
}
