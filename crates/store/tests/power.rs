//! Loss of power, as the file system may leave it: what was flushed is there, what was not is missing, cut off or torn.
//!
//! A commit is answered after the write-ahead log was flushed, so that the bytes of both files at that moment are what a disk that
//! keeps its word still has. What is written after it may be there in any part. Files are put together that way, for every page
//! that was under way, and opened: all that was acknowledged is there, and what is more is a whole commit. Then the disk breaks its
//! word: flushed pages are cut off or turned into something else; the store then holds an earlier commit, or is refused.
//!
//! Not covered: an order of writes within a commit that SQLite's own tests try by the thousand, and disks that lie about a flush for
//! longer than one commit; devices notice that by the digests and send again what is missing.

use std::path::Path;

use goldward_journal::{Body, Log, Note, Record, Stamp, Uuid, id::new_id};
use goldward_store::audit::Audit;
use goldward_store::ops::{Exchange, Logs, Owner, Pull, Quota, Version};
use goldward_store::{Backend as _, Place, Store, StoreError};

const ARCHER: Uuid = Uuid::from_u128(1);
/// A page of the database.
const PAGE: usize = 4096;
/// A page in the write-ahead log, with its head.
const FRAME: usize = PAGE + 24;
/// The head of the write-ahead log.
const HEAD: usize = 32;

/// The two files at one moment.
#[derive(Clone)]
struct Files {
    db: Vec<u8>,
    wal: Vec<u8>,
}

impl Files {
    fn of(path: &Path) -> Self {
        let read = |suffix: &str| std::fs::read(format!("{}{suffix}", path.display())).unwrap_or_default();
        Self { db: read(""), wal: read("-wal") }
    }
}

fn record(n: u32) -> Record {
    let mut random = [0; 10];
    random[6..].copy_from_slice(&n.to_be_bytes());
    let stamp = Stamp { ms: u64::from(n), counter: 0, device: Uuid::from_u128(9) };
    let text = format!("{n} {}", "x".repeat(900));
    Record::new(ARCHER, new_id(1, random), stamp, Body::Note(Note { about: None, text, at_ms: 1, ..Note::default() }))
}

/// Records of one commit.
const EACH: u32 = 4;

async fn commit(store: &Store, k: u32) {
    let records = (k * EACH..(k + 1) * EACH).map(|n| Version::from(&record(n))).collect();
    let op = Exchange { archer: ARCHER, owner: Owner::Anyone, records, after: 0, limit: 0, quota: Quota::NONE };
    assert_eq!(store.run(op).await.unwrap().accepted, u64::from(EACH));
}

/// How many commits a machine finds that starts with these files; nothing when it refuses them. Half a commit, a record that was
/// not written that way or a digest that does not add up fail.
async fn found(files: &Files, what: &str) -> Option<u32> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    std::fs::write(&path, &files.db).unwrap();
    std::fs::write(folder.path().join("log.db-wal"), &files.wal).unwrap();
    let store = match Store::open(&Place::File(path)).await {
        Ok(store) => store,
        Err(StoreError::Damaged(_) | StoreError::NotAStore) => return None,
        Err(e) => panic!("{what}: {e:?}"),
    };
    let clear = |e: StoreError| assert!(matches!(e, StoreError::Damaged(_)), "{what}: {e:?}");
    let damage = match store.integrity().await {
        Ok(damage) => damage,
        Err(e) => {
            clear(e);
            return None;
        }
    };
    if !damage.is_empty() {
        return None;
    }
    if store.run(Logs { owner: Owner::Anyone }).await.unwrap().is_empty() {
        return Some(0);
    }
    let audited = store.run(Audit { archer: ARCHER }).await.unwrap();
    assert_eq!(audited.findings, [], "{what}");
    let page = store.run(Pull { archer: ARCHER, after: 0, limit: 20_000 }).await.unwrap();
    let log = Log::from_records(page.json.iter().map(|j| serde_json::from_str::<Record>(j).unwrap()));
    assert_eq!(page.digest, log.digest(), "{what}");
    let n = log.len() as u32;
    assert_eq!(n % EACH, 0, "{what}: half a commit");
    assert_eq!(log, Log::from_records((0..n).map(record)), "{what}");
    Some(n / EACH)
}

/// A store at rest after its tables were made, and the files after each commit.
async fn written(commits: u32) -> Vec<Files> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    let store = Store::open(&Place::File(path.clone())).await.unwrap();
    let mut after = vec![Files::of(&path)];
    for k in 0..commits {
        commit(&store, k).await;
        after.push(Files::of(&path));
    }
    after
}

/// Always the same numbers.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % n
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_acknowledged_outlives_every_cut_through_what_was_under_way() {
    let after = written(12).await;
    let (mut tried, mut dice) = (0, Dice(1));
    for (k, pair) in after.windows(2).enumerate() {
        let [now, next] = pair else { unreachable!() };
        let k = k as u32;
        assert_eq!(now.db, next.db, "no checkpoint is meant to come in between");
        let new = &next.wal[now.wal.len()..];
        for at in 0..=new.len() / FRAME {
            let whole = at * FRAME;
            // Cut off at a page, within its head and within it; and with pages behind that are there when one before them is not.
            for cut in [whole, whole + 7, whole + 24 + PAGE / 2] {
                let cut = cut.min(new.len());
                let files = Files { db: now.db.clone(), wal: [&now.wal, &new[..cut]].concat() };
                let there = found(&files, &format!("commit {k}, cut at {cut}")).await.expect("it is sound");
                assert!(there == k || (there == k + 1 && cut == new.len()), "commit {k}, cut at {cut}: {there}");
                tried += 1;
            }
            if whole < new.len() {
                let mut torn = new.to_vec();
                let from = whole + dice.below(FRAME);
                let to = (from + 1 + dice.below(512)).min(torn.len());
                torn[from..to].iter_mut().for_each(|b| *b = !*b);
                let files = Files { db: now.db.clone(), wal: [now.wal.as_slice(), &torn].concat() };
                let there = found(&files, &format!("commit {k}, torn at {from}")).await.expect("it is sound");
                assert_eq!(there, k, "commit {k}, torn at {from}");
                tried += 1;
            }
        }
    }
    eprintln!("{tried} losses of power in the midst of a commit, none with a loss");
    assert!(tried > 100);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_acknowledged_outlives_a_cut_while_pages_are_moved_into_the_file() {
    // As many commits as it takes until the pages of the log are moved into the file, which happens at some thousand of them.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    let store = Store::open(&Place::File(path.clone())).await.unwrap();
    let mut k = 0;
    let (now, next) = loop {
        assert!(k < 2_000, "no page is ever moved");
        let now = Files::of(&path);
        commit(&store, k).await;
        k += 1;
        let next = Files::of(&path);
        if now.db != next.db {
            break (now, next);
        }
    };
    let (mut tried, mut dice) = (0, Dice(2));
    let pages = next.db.len() / PAGE;
    for round in 0..40 {
        // Some pages are there, some are not, one is torn; the file may be as long as before.
        let mut db = if round % 4 == 0 { now.db.clone() } else { [&now.db, &next.db[now.db.len()..]].concat() };
        for page in 0..db.len() / PAGE {
            if dice.below(3) > 0 {
                let at = page * PAGE..(page + 1) * PAGE;
                db[at.clone()].copy_from_slice(&next.db[at]);
            }
        }
        let torn = dice.below(db.len() / PAGE) * PAGE;
        db[torn..torn + 512].copy_from_slice(&next.db[torn..torn + 512]);
        let there = found(&Files { db, wal: next.wal.clone() }, &format!("round {round}")).await;
        assert_eq!(there, Some(k), "round {round} of {pages} pages");
        tried += 1;
    }
    // The commit after it begins the log anew, over the old one, when the file is flushed.
    commit(&store, k).await;
    let last = Files::of(&path);
    assert_eq!(found(&last, "anew").await, Some(k + 1));
    let begun = last.wal.iter().zip(&next.wal).rposition(|(a, b)| a != b).unwrap() + 1;
    for cut in (HEAD..begun).step_by(FRAME).flat_map(|at| [at, at + 11, at + 24 + PAGE / 3]) {
        let cut = cut.min(begun);
        let wal = [&last.wal[..cut], &next.wal[cut..]].concat();
        let there = found(&Files { db: next.db.clone(), wal }, &format!("anew, cut at {cut}")).await;
        assert!(there == Some(k) || (there == Some(k + 1) && cut == begun), "anew, cut at {cut}: {there:?}");
        tried += 1;
    }
    eprintln!("{tried} losses of power while pages were moved, none with a loss");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn where_the_disk_breaks_its_word_the_store_is_an_earlier_one_or_is_refused() {
    let after = written(6).await;
    let last = after.last().unwrap();
    let mut dice = Dice(3);
    let (mut earlier, mut refused) = (0, 0);
    for at in 0..=(last.wal.len() - HEAD) / FRAME {
        let end = HEAD + at * FRAME;
        for cut in [end, (end + FRAME / 2).min(last.wal.len())] {
            match found(&Files { db: last.db.clone(), wal: last.wal[..cut].to_vec() }, &format!("cut at {cut}")).await {
                Some(there) => {
                    assert!(there <= 6);
                    earlier += 1;
                }
                None => refused += 1,
            }
        }
        if end < last.wal.len() {
            let mut wal = last.wal.clone();
            let flipped = end + dice.below(FRAME);
            wal[flipped] ^= 1 << dice.below(8);
            match found(&Files { db: last.db.clone(), wal }, &format!("flipped at {flipped}")).await {
                Some(there) => {
                    assert!(there <= 6);
                    earlier += 1;
                }
                None => refused += 1,
            }
        }
    }
    // Without its log the file alone is what was moved into it.
    assert!(found(&Files { db: last.db.clone(), wal: Vec::new() }, "no log").await.is_none_or(|there| there <= 6));
    eprintln!("{earlier} times an earlier commit, {refused} times refused, never a wrong answer");
}
