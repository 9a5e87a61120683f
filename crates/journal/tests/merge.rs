//! The laws of the log: merge is commutative, associative and idempotent, and any interleaving of devices converges.

mod common;

use common::{body, log, record};
use goldward_journal::*;
use proptest::prelude::*;

proptest! {
    #[test]
    fn merge_is_commutative_associative_and_idempotent(a in log(), b in log(), c in log()) {
        prop_assert_eq!(&a.merge(&b), &b.merge(&a));
        prop_assert_eq!(&a.merge(&b).merge(&c), &a.merge(&b.merge(&c)));
        prop_assert_eq!(&a.merge(&a), &a);
        prop_assert_eq!(a.merge(&b).digest(), b.merge(&a).digest());
        prop_assert_eq!(a.merge(&Log::new()).digest(), a.digest());
        // Kept up or made anew, it is the same.
        let mut kept = a.clone();
        let _ = kept.digest();
        kept.extend(b.records().cloned());
        let anew = kept.records().fold(Digest::default(), |d, r| d.with(r.hash()));
        prop_assert_eq!(kept.digest(), anew);
    }

    #[test]
    fn the_order_of_records_does_not_matter(records in proptest::collection::vec(record(), 0..40), seed in any::<u64>()) {
        let mut other = records.clone();
        goldward_core::random::Random::stream(seed, 0).shuffle(&mut other);
        let (a, b) = (Log::from_records(records), Log::from_records(other));
        prop_assert_eq!(jsonl::write(&a), jsonl::write(&b));
        for archer in a.archers() {
            let mut heads: Vec<Uuid> = a.heads(archer).map(|r| r.id).collect();
            let is_head = |r: &&Record| r.body.session().is_none() && !r.is_deleted();
            let mut all: Vec<Uuid> = a.records_of(archer).filter(is_head).map(|r| r.id).collect();
            heads.sort();
            all.sort();
            prop_assert_eq!(heads, all);
        }
        for record in a.records() {
            if let Some(session) = record.body.session() {
                prop_assert_eq!(a.parts(record.archer, session).count(), b.parts(record.archer, session).count());
                prop_assert!(a.parts(record.archer, session).any(|r| r.id == record.id));
            }
        }
    }

    /// What is kept of a session is what would be worked out now, whatever came in, went or was moved since.
    #[test]
    fn what_is_kept_is_never_old(records in proptest::collection::vec(record(), 1..40), cut in any::<u64>()) {
        let work = |log: &Log, archer: Uuid, id: Uuid| -> Vec<String> {
            let speaks = |r: &&Record| match r.body {
                Body::Session(_) => r.id == id,
                Body::Kit(_) | Body::Mark(_) | Body::Arrow(_) => true,
                _ => false,
            };
            let mut all: Vec<String> = log.records_of(archer).filter(speaks).chain(log.parts(archer, id)).map(Record::to_json).collect();
            all.sort();
            all
        };
        let mut log = Log::new();
        let sessions: Vec<(Uuid, Uuid)> = records.iter().map(|r| (r.archer, r.body.session().unwrap_or(r.id))).collect();
        for (n, record) in records.into_iter().enumerate() {
            if (cut >> (n % 64)) & 1 == 1 {
                log = log.clone();
            }
            log.insert(record);
            for (archer, id) in &sessions {
                prop_assert_eq!(&*log.kept(*archer, *id, || work(&log, *archer, *id)), &work(&log, *archer, *id));
            }
        }
    }

    #[test]
    fn versions_have_a_total_order(a in record(), b in record()) {
        prop_assert_eq!(a.compare_versions(&b), b.compare_versions(&a).reverse());
        prop_assert_eq!(a.compare_versions(&b).is_eq(), a.stamp == b.stamp && a.hash() == b.hash());
    }

    /// Three devices write, edit, delete and sync in any order, with clocks that jump anywhere; at the end two rounds of
    /// syncing make them equal, every act is there, and the last edit that saw all others has won.
    #[test]
    fn any_interleaving_of_devices_converges(
        acts in proptest::collection::vec((0..3usize, 0..3usize, 0..6u8, any::<u64>(), body()), 1..60)
    ) {
        let archer = Uuid::from_u128(9);
        let mut logs = vec![Log::new(); 3];
        let mut writers: Vec<Writer> = (0..3).map(|d| Writer::new(archer, Uuid::from_u128(d))).collect();
        let mut written = std::collections::BTreeSet::new();
        for (n, (device, other, what, now, body)) in acts.into_iter().enumerate() {
            let old = logs[device].sorted().get(usize::from(what)).map(|r| (*r).clone());
            match (what, old) {
                (0..=1, _) | (2..=3, None) => {
                    let mut random = [0; 10];
                    random[2..].copy_from_slice(&(n as u64).to_be_bytes());
                    let record = writers[device].write(now % (1 << 47), random, body);
                    written.insert(record.id);
                    logs[device].insert(record);
                }
                (2, Some(old)) => {
                    let record = writers[device].edit(now, &old, body);
                    prop_assert!(record.stamp > old.stamp);
                    prop_assert_eq!(logs[device].insert(record), Merged::Newer);
                }
                (3, Some(old)) => {
                    let record = writers[device].delete(now, &old);
                    prop_assert_eq!(logs[device].insert(record), Merged::Newer);
                }
                _ => {
                    // A sync that is cut off half way.
                    let seen = logs[device].seen(archer);
                    let news: Vec<Record> = logs[other].since(archer, &seen).into_iter().cloned().collect();
                    let half = news.len().div_ceil(2);
                    logs[device].extend(news.into_iter().take(half));
                    writers[device].observe(&logs[device].clone(), now);
                }
            }
        }
        let all = logs[0].merge(&logs[1]).merge(&logs[2]);
        prop_assert_eq!(all.len(), written.len());
        for log in &mut logs {
            let news: Vec<Record> = all.since(archer, &Seen::new()).into_iter().cloned().collect();
            log.extend(news);
            prop_assert_eq!(&*log, &all);
            prop_assert!(all.since(archer, &log.seen(archer)).is_empty());
        }
    }

    /// Two archers whose records share their ids, as a hostile one can make them: neither log changes the other, in memory, in
    /// both files and by way of a merge.
    #[test]
    fn archers_who_share_ids_keep_their_logs_apart(a in log(), b in log()) {
        let other = Uuid::from_u128(2);
        let moved = Log::from_records(b.records().map(|r| Record { archer: other, ..r.clone() }));
        let both = a.merge(&moved);
        prop_assert_eq!(both.len(), a.len() + b.len());
        prop_assert_eq!(&both, &moved.merge(&a));
        for whole in [jsonl::read(&jsonl::write(&both)).unwrap(), table::read(&table::write(&both)).unwrap()] {
            prop_assert_eq!(&whole, &both);
            for (archer, alone) in [(Uuid::from_u128(1), &a), (other, &moved)] {
                prop_assert_eq!(whole.digest_of(archer), alone.digest());
                prop_assert_eq!(whole.seen(archer), alone.seen(archer));
                for r in alone.records() {
                    prop_assert_eq!(whole.get(archer, r.id), Some(r));
                    if let Some(session) = r.body.session() {
                        prop_assert_eq!(whole.parts(archer, session).count(), alone.parts(archer, session).count());
                    }
                }
            }
        }
        let mut rest = both.clone();
        prop_assert_eq!(rest.take_out(other), moved);
        prop_assert_eq!(rest, a);
    }

    #[test]
    fn a_clock_that_jumps_breaks_nothing(times in proptest::collection::vec(any::<u64>(), 1..100)) {
        let mut clock = Hlc::new(Uuid::nil());
        let mut last = clock.last();
        for now in times {
            let stamp = clock.next(now);
            prop_assert!(stamp > last && stamp.ms <= stamp::LAST_MS);
            last = stamp;
        }
    }
}
