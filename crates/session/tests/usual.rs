//! Who is counted among a club's archers: who agrees, has told bow and level, and shot enough.

use goldward_core::usual::{Band, Bow, Cell, Level, argued};
use goldward_journal::{Archer, Body, Log, Uuid, Writer};
use goldward_session::demo;
use goldward_session::log::{Which, YEAR_MS, agrees, read, told};
use goldward_session::settings::Wishes;
use goldward_session::usual::Usual;

const NOW: u64 = 1_780_000_000_000;

/// The invented archer after an edit of the archer's record and of the kit.
fn with(archer: impl FnOnce(&mut Archer), kit: impl FnOnce(&mut goldward_journal::Kit)) -> (Log, Uuid) {
    let (mut log, id) = (demo::log(NOW), demo::archer());
    let mut writer = Writer::new(id, Uuid::from_u128(9));
    writer.observe(&log, NOW);
    edit(&mut log, &mut writer, |b| if let Body::Archer(a) = b { Some(a) } else { None }, archer);
    edit(&mut log, &mut writer, |b| if let Body::Kit(k) = b { Some(&mut **k) } else { None }, kit);
    (log, id)
}

fn edit<T>(log: &mut Log, writer: &mut Writer, of: impl Fn(&mut Body) -> Option<&mut T>, change: impl FnOnce(&mut T)) {
    let old = log.records_of(writer.archer).find(|r| of(&mut r.body.clone()).is_some()).unwrap().clone();
    let mut body = old.body.clone();
    of(&mut body).map(change).unwrap();
    log.insert(writer.edit(NOW, &old, body));
}

fn recurve(kit: &mut goldward_journal::Kit) {
    (kit.bow, kit.level) = (Some("recurve".to_owned()), Some("club".to_owned()));
}

#[test]
fn nobody_is_counted_who_has_not_agreed() {
    let (log, id) = with(|_| (), recurve);
    assert!(!agrees(&log, id) && told(&log, id, NOW).is_none(), "off by default");
    let (log, id) = with(|a| a.counted = Some(false), recurve);
    assert!(!agrees(&log, id) && told(&log, id, NOW).is_none());
    let (mut log, id) = with(|a| a.counted = Some(true), recurve);
    let cell = Cell { bow: Bow::Recurve, level: Level::Club, band: Band::Long };
    assert_eq!(told(&log, id, NOW).unwrap().cell(), cell);
    // Taken back.
    let mut writer = Writer::new(id, Uuid::from_u128(10));
    writer.observe(&log, NOW);
    let old = log.get(id, id).unwrap().clone();
    let Body::Archer(archer) = old.body.clone() else { panic!() };
    log.insert(writer.edit(NOW, &old, Body::Archer(Archer { counted: None, ..archer })));
    assert!(told(&log, id, NOW).is_none(), "taken back");
}

#[test]
fn bow_and_level_are_told_and_old_sessions_are_not_looked_at() {
    let yes = |a: &mut Archer| a.counted = Some(true);
    let (log, id) = with(yes, |k| k.bow = Some("recurve".to_owned()));
    assert!(told(&log, id, NOW).is_none(), "no level");
    let (log, id) =
        with(yes, |k| (k.bow, k.level) = (Some("bow of a later version".to_owned()), Some("club".to_owned())));
    assert!(told(&log, id, NOW).is_none(), "no such bow");
    let (log, id) = with(yes, recurve);
    assert!(told(&log, id, NOW + 2 * YEAR_MS).is_none(), "long ago");
}

/// A reading of a log starts from the document where there is no history, and from history where there is.
#[test]
fn a_document_starts_a_newcomer_and_gives_way_to_history() {
    let (log, id) = with(|_| (), recurve);
    let text = r#"{"schema":1,"what":"goldward usual values","made":"2026-11-27","epsilon":2,"delta":1e-5,"least_archers":20,"cells":[
        {"bow":"recurve","level":"club","band":"long","archers":44,"spread_mrad":2.0,"spread_ln_sd":0.06,"scatter_ln_sd":0.3,"astray":0.15,"end_factor":1.5}]}"#;
    let usual = Usual::parse(text).unwrap();
    let mut ids: Vec<Uuid> = goldward_session::log::sessions(&log, id).into_iter().map(|(r, _)| r.id).collect();
    ids.reverse();
    let spread = |which: Uuid, over: &Wishes| read(&log, id, Which::Id(which), over).unwrap().settings;
    let (first, last) = (ids[0], *ids.last().unwrap());
    let start = usual.start(Some(Bow::Recurve), Some(Level::Club), None);
    let over = Wishes { usual: Some(start), ..Wishes::default() };
    let (plain, met) = (spread(first, &Wishes::default()), spread(first, &over));
    assert!((plain.spread.mrad() - argued(None, None).spread_mrad).abs() < 1e-12);
    assert!((met.spread.mrad() - start.spread_mrad).abs() < 1e-12 && (2.0..2.4).contains(&start.spread_mrad));
    assert!(met.prior != plain.prior && (met.unmarked.get()[0] - 0.85).abs() < 1e-9);
    // Ten evenings later their own arrows count for most: the two readings are nearly one.
    let (plain, met) = (spread(last, &Wishes::default()), spread(last, &over));
    assert!(
        (plain.spread.mrad() / met.spread.mrad() - 1.0).abs() < 0.06,
        "{} {}",
        plain.spread.mrad(),
        met.spread.mrad()
    );
    // What the archer tells stands above it.
    let told = spread(first, &Wishes { spread_mrad: Some(4.0), ..over });
    assert!((told.spread.mrad() - 4.0).abs() < 1e-12);
}
