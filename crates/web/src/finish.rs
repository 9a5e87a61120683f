//! How a session went, in a few numbers for its end.

use goldward_journal::{Body, Log, Uuid};
use goldward_session::log::{SessionView, Total, point_of, total_of};

/// A session at its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Finish {
    /// Points of the ends that count.
    pub total: Total,
    /// The most that these arrows could have had.
    pub possible: u32,
    /// Points that where the sight stood has cost, where that can be said.
    pub to_sight: Option<f64>,
    /// The best score before it of as many arrows at the same distance and face, and when it was shot first, in milliseconds since
    /// 1970 UTC; nothing where it is the first.
    pub best_before: Option<(u32, u64)>,
}

impl Finish {
    /// Of the session `id`; nothing while no arrow counts.
    #[must_use]
    pub fn of(log: &Log, archer: Uuid, id: Uuid) -> Option<Self> {
        let view = SessionView::of(log, archer, id).ok()?;
        let own = point_of(log, archer, id)?;
        if own.total.shots == 0 {
            return None;
        }
        let (at, face) = (view.session.distance_m, view.session.face.as_str());
        let alike = |distance_m: f64, of: &str, at_ms: u64, id: Uuid| {
            distance_m.total_cmp(&at).is_eq() && of == face && (at_ms, id) < (own.at_ms, own.id)
        };
        // Totals alone: what the sight cost is asked of this session only.
        let before = log.heads(archer).filter_map(|r| match &r.body {
            Body::Session(s) if alike(s.distance_m, &s.face, s.at_ms, r.id) => {
                Some((total_of(log, archer, r.id)?, s.at_ms))
            }
            Body::Score(s) if alike(s.distance_m, &s.face, s.at_ms, r.id) => {
                Some((Total { points: s.points, shots: s.shots, ..Total::default() }, s.at_ms))
            }
            _ => None,
        });
        let as_many = before.filter(|(t, _)| t.shots == own.total.shots).map(|(t, at_ms)| (t.points, at_ms));
        let best_before = as_many.max_by_key(|(points, at_ms)| (*points, std::cmp::Reverse(*at_ms)));
        let highest = view.face.highest_value();
        Some(Self {
            total: own.total,
            possible: own.total.shots * u32::from(highest),
            to_sight: own.lost.map(|l| l.to_sight),
            best_before,
        })
    }

    /// Points an arrow.
    #[must_use]
    pub fn average(&self) -> f64 {
        f64::from(self.total.points) / f64::from(self.total.shots.max(1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_journal::{Archer, Session, Shot, Writer};

    /// Sessions of three arrows each, `mm` right of the middle, a minute apart.
    fn log(sessions: &[f64]) -> (Log, Uuid, Vec<Uuid>) {
        let id = |n: u8| goldward_journal::id::new_id(u64::from(n), [n; 10]);
        let mut writer = Writer::new(id(1), id(2));
        let mut log = Log::new();
        log.insert(writer.write_archer(1, Archer { name: "A".into(), hand: None, counted: None }));
        let mut ids = Vec::new();
        for (n, mm) in sessions.iter().enumerate() {
            let at = 60_000 * (n as u64 + 1);
            let session = Session {
                at_ms: at,
                distance_m: 70.0,
                face: "122".into(),
                round: None,
                kit: None,
                mark: None,
                sighting_ends: 0,
                ends: 1,
                shots_per_end: 3,
                proven: None,
                match_by: None,
                opponent_arrow: None,
            };
            let session = writer.write(at, [n as u8; 10], Body::Session(session));
            for i in 1..=3_u8 {
                let shot = Shot {
                    session: session.id,
                    end: 1,
                    index: u32::from(i),
                    x_mm: Some(*mm),
                    y_mm: Some(0.0),
                    call: None,
                    felt: None,
                    arrow: None,
                    spot: None,
                    at_ms: None,
                };
                log.insert(writer.write(at + u64::from(i), [50 + 3 * n as u8 + i; 10], Body::Shot(shot)));
            }
            ids.push(session.id);
            log.insert(session);
        }
        let archer = log.archers()[0];
        (log, archer, ids)
    }

    #[test]
    fn a_score_stands_beside_the_most_and_the_best_before_it() {
        // Rings of 61 mm on the 122 cm face: 10, 8 and 9.
        let (log, archer, ids) = log(&[5.0, 150.0, 90.0]);
        let of = |i: usize| Finish::of(&log, archer, ids[i]).unwrap();
        assert_eq!((of(0).total.points, of(0).possible, of(0).total.inner_tens, of(0).best_before), (30, 30, 3, None));
        assert_eq!((of(1).total.points, of(1).best_before), (24, Some((30, 60_000))));
        assert_eq!((of(2).total.points, of(2).best_before), (27, Some((30, 60_000))), "later ones do not count");
        assert!((of(2).average() - 9.0).abs() < 1e-12);
        // Reached again, it is still told when it was reached first.
        let (log, archer, ids) = self::log(&[5.0, 5.0, 90.0]);
        assert_eq!(Finish::of(&log, archer, ids[2]).unwrap().best_before, Some((30, 60_000)));
    }
}
