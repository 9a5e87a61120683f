//! The device that keeps logs in step, against a server that may be hostile, over lines that may break.

mod common;

use std::collections::{BTreeMap, BTreeSet};

use common::body;
use goldward_journal::sync::*;
use goldward_journal::*;
use proptest::prelude::*;

const NOW: u64 = 1_760_000_000_000;
/// Archers of the two logs.
const ANNA: Uuid = Uuid::from_u128(0xa);
const BEN: Uuid = Uuid::from_u128(0xb);

/// The records of a log, each with the number it was taken in by.
type Numbered = BTreeMap<Uuid, (u64, Record)>;

/// An honest server: of each log its versions in the order in which they came.
#[derive(Default, Clone)]
struct Server {
    logs: BTreeMap<Uuid, (u64, Numbered)>,
    /// Logs that may not be written.
    read_only: BTreeSet<Uuid>,
    /// Logs that may not even be read.
    closed: BTreeSet<Uuid>,
    /// Logs that their archers have erased.
    erased: BTreeSet<Uuid>,
    /// Records that it refuses, and whether it names them.
    poison: BTreeSet<Uuid>,
    names_them: bool,
    /// Requests that were larger than it reads.
    too_large: u32,
    /// Records of an answer; few, so that there are several pages.
    page: Option<usize>,
}

impl Server {
    fn list(&self) -> Vec<ServerLog> {
        let open = self.logs.iter().filter(|(a, _)| !self.closed.contains(a));
        open.map(|(a, l)| ServerLog { archer: *a, own: !self.read_only.contains(a), write: None, cursor: l.0 })
            .collect()
    }

    fn take(&mut self, record: Record) -> u64 {
        let (seq, log) = self.logs.entry(record.archer).or_default();
        if log.get(&record.id).is_some_and(|(_, old)| record.compare_versions(old).is_le()) {
            return 0;
        }
        *seq += 1;
        log.insert(record.id, (*seq, record));
        1
    }

    fn log(&self, archer: Uuid) -> Log {
        Log::from_records(self.logs.get(&archer).into_iter().flat_map(|l| l.1.values().map(|(_, r)| r.clone())))
    }

    fn sync(&mut self, request: SyncRequest) -> Result<SyncResponse, Failure> {
        let body = serde_json::to_vec(&request).unwrap();
        if body.len() > LARGEST_REQUEST {
            self.too_large += 1;
            return Err(Failure::of(413, "too large".to_owned()));
        }
        let SyncRequest { archer, after, limit, records, .. } = SyncRequest::read(&body).map_err(Failure::Bad)?;
        if self.erased.contains(&archer) {
            return Err(Failure::of(410, "its archer has erased it".to_owned()));
        }
        if self.closed.contains(&archer) {
            return Err(Failure::NotFound("there is no such log".to_owned()));
        }
        if self.read_only.contains(&archer) && !records.is_empty() {
            return Err(Failure::Forbidden("a coach reads".to_owned()));
        }
        let message = "not to its taste".to_owned();
        let bad: Vec<Refused> = (records.iter().enumerate())
            .filter(|(_, r)| self.poison.contains(&r.id))
            .map(|(i, r)| Refused { index: i as u32, id: Some(r.id), reason: Refusal::Other, message: message.clone() })
            .collect();
        let good: Vec<Record> = records.into_iter().filter(|r| !self.poison.contains(&r.id)).collect();
        if !bad.is_empty() && !self.names_them {
            return Err(Failure::Bad("a record is not to its taste".to_owned()));
        }
        let sent: BTreeSet<(Uuid, Stamp)> = good.iter().map(|r| (r.id, r.stamp)).collect();
        let accepted = good.into_iter().map(|r| self.take(r)).sum();
        let (seq, log) = self.logs.get(&archer).cloned().unwrap_or_default();
        let mut news: Vec<(u64, Record)> = log.into_values().filter(|(n, _)| *n > after).collect();
        news.sort_by_key(|(n, _)| *n);
        let page = self.page.unwrap_or(3).min(limit as usize);
        let more = news.len() > page;
        news.truncate(page);
        let cursor = if more { news.last().map_or(seq, |(n, _)| *n) } else { seq };
        let records = news.into_iter().map(|(_, r)| r).filter(|r| !sent.contains(&(r.id, r.stamp))).collect();
        Ok(SyncResponse { schema: 1, cursor, more, accepted, refused: bad, records, log: self.log(archer).digest() })
    }
}

/// What a line, or a hostile server behind it, does with one exchange.
#[derive(Debug, Clone, Copy)]
enum Trick {
    None,
    /// The request does not arrive.
    Lost,
    /// The answer does not arrive.
    LostAnswer,
    Garbage,
    /// A record of the year 9999, one of the other archer, one that is none, and one without sense.
    Poisoned,
    /// The digest is not that of the log.
    Lying,
    /// There is always more.
    Endless,
    /// Numbers beyond any count.
    FarCursor,
    Busy,
    Closed,
}

fn trick() -> impl Strategy<Value = Trick> {
    use Trick::*;
    prop_oneof![
        6 => Just(None), 2 => Just(Lost), 2 => Just(LostAnswer), 1 => Just(Garbage), 2 => Just(Poisoned),
        1 => Just(Lying), 1 => Just(Endless), 1 => Just(FarCursor), 1 => Just(Busy), 1 => Just(Closed)
    ]
}

fn poisoned(archer: Uuid, n: u64) -> Vec<String> {
    let id = |k: u64| id::new_id(1_700_000_000_000 + k, [9; 10]);
    let note = |id, archer, ms, at_ms| {
        let body = Body::Note(Note { about: None, text: "poison".to_owned(), at_ms, ..Note::default() });
        Record::new(archer, id, Stamp { ms, counter: u32::MAX, device: Uuid::max() }, body)
    };
    let other = if archer == ANNA { BEN } else { ANNA };
    let shot = note(id(n + 2), archer, NOW, u64::MAX);
    vec![
        note(id(n), archer, stamp::LAST_MS, 1).to_json(),
        // With an id that the other archer has.
        note(id(0), other, NOW, 1).to_json(),
        shot.to_json(),
        "{\"schema\":1,\"id\":7}".to_owned(),
    ]
}

/// A device: its log, what it remembers, what it has set aside.
#[derive(Default, Clone)]
struct Phone {
    log: Log,
    reached: BTreeMap<Uuid, Reached<Seen>>,
    aside: Vec<Aside>,
    asked: u32,
    /// Records it finds at once; few, so that there are several parts.
    at_once: Option<usize>,
}

impl Phone {
    /// One run over a line that plays tricks; then it is honest.
    fn run(&mut self, server: &mut Server, tricks: &mut dyn Iterator<Item = Trick>) -> Report {
        let mut device = Device::new(NOW, self.log.archers());
        let mut ask = Ask::List;
        for step in 0.. {
            assert!(step < 20_000, "it comes to no end");
            let came = match ask {
                Ask::List => match tricks.next().unwrap_or(Trick::None) {
                    Trick::Lost | Trick::LostAnswer => Came::Failed(Failure::Offline("the line broke".to_owned())),
                    _ => Came::Logs(server.list()),
                },
                Ask::Recall(archer) => Came::Recalled(self.reached.get(&archer).cloned()),
                Ask::Mine { archer, since, most } => {
                    let mut mine: Vec<Record> = self.log.since(archer, &since).into_iter().cloned().collect();
                    mine.truncate(self.at_once.unwrap_or(4).min(most as usize));
                    let mut upto = since;
                    for r in &mine {
                        let seen = upto.entry(r.stamp.device).or_default();
                        *seen = (*seen).max((r.stamp.ms, r.stamp.counter));
                    }
                    Came::Mine(mine, upto)
                }
                Ask::Send(request) => {
                    self.asked += 1;
                    exchange(server, request, tricks.next().unwrap_or(Trick::None))
                }
                Ask::Keep { archer, records, aside } => {
                    let mut new = 0;
                    for record in records {
                        assert_eq!(record.archer, archer);
                        assert!(!record.stamp.is_ahead(NOW) && record.validate().is_ok());
                        new += u64::from(self.log.insert(record) != Merged::Known);
                    }
                    self.aside.extend(aside);
                    Came::Kept(new, self.log.digest_of(archer), self.log.seen(archer))
                }
                Ask::Remember(archer, reached) => {
                    // By way of text, as a device keeps it.
                    let text = serde_json::to_string(&reached).unwrap();
                    self.reached.insert(archer, serde_json::from_str(&text).unwrap());
                    Came::Remembered
                }
                Ask::Done => break,
            };
            ask = device.step(came);
        }
        device.into_report()
    }

    fn sync(&mut self, server: &mut Server) -> Report {
        self.run(server, &mut std::iter::empty())
    }
}

fn exchange(server: &mut Server, request: SyncRequest, trick: Trick) -> Came<Seen> {
    let (archer, after) = (request.archer, request.after);
    match trick {
        Trick::Lost => return Came::Failed(Failure::Offline("the line broke".to_owned())),
        Trick::Busy => return Came::Failed(Failure::of(503, "busy".to_owned())),
        Trick::Closed => return Came::Failed(Failure::of(404, "no such log".to_owned())),
        _ => {}
    }
    let mut answer = match server.sync(request) {
        Ok(answer) => answer,
        Err(failure) => return Came::Failed(failure),
    };
    match trick {
        Trick::LostAnswer => return Came::Failed(Failure::Offline("the line broke".to_owned())),
        Trick::Garbage => return Came::Answer("<html>it works</html>".to_owned()),
        Trick::Lying => answer.log.sum ^= 1,
        Trick::Endless => (answer.more, answer.cursor) = (true, after),
        Trick::FarCursor => answer.cursor = u64::MAX,
        _ => {}
    }
    let mut text = serde_json::to_string(&answer).unwrap();
    if matches!(trick, Trick::Poisoned) {
        let more = poisoned(archer, after).join(",");
        let comma = if answer.records.is_empty() { "" } else { "," };
        text = text.replacen("\"records\":[", &format!("\"records\":[{more}{comma}"), 1);
    }
    Came::Answer(text)
}

fn write(log: &mut Log, writer: &mut Writer, n: u64, body: Body) -> Uuid {
    let mut random = [0; 10];
    random[2..].copy_from_slice(&n.to_be_bytes());
    let record = writer.write(NOW, random, body);
    let id = record.id;
    assert_eq!(record.validate(), Ok(()));
    log.insert(record);
    id
}

fn note(text: &str) -> Body {
    Body::Note(Note { about: None, text: text.to_owned(), at_ms: 1, ..Note::default() })
}

/// A server and two devices, all in step, with a note of each archer.
fn in_step() -> (Server, [Phone; 2], [Writer; 2]) {
    let mut server = Server::default();
    let mut phones = [Phone::default(), Phone::default()];
    let mut writers = [Writer::new(ANNA, Uuid::from_u128(1)), Writer::new(ANNA, Uuid::from_u128(2))];
    write(&mut phones[0].log, &mut writers[0], 1, note("anna's"));
    write(&mut phones[0].log, &mut Writer::new(BEN, Uuid::from_u128(1)), 1, note("ben's, with the same id"));
    for phone in [0, 1, 0] {
        assert!(phones[phone].sync(&mut server).is_in_step());
    }
    assert_eq!(phones[0].log, phones[1].log);
    for (phone, writer) in phones.iter().zip(&mut writers) {
        writer.observe(&phone.log, NOW);
    }
    (server, phones, writers)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Two devices write in two logs and meet a server that loses, garbles, poisons, lies and closes; nothing written is lost,
    /// nothing poisonous gets into a log, every run comes to an end, and once the server is honest all are in step.
    #[test]
    fn two_devices_and_a_hostile_peer(
        acts in proptest::collection::vec((0..2usize, any::<bool>(), 0..7u8, body()), 1..25),
        tricks in proptest::collection::vec(trick(), 0..40),
    ) {
        let mut server = Server::default();
        let mut phones = [Phone::default(), Phone::default()];
        let mut written: BTreeMap<(Uuid, Uuid), Stamp> = BTreeMap::new();
        let mut tricks = tricks.into_iter();
        for (n, (who, of_ben, what, body)) in acts.into_iter().enumerate() {
            let phone = &mut phones[who];
            let archer = if of_ben { BEN } else { ANNA };
            let mut writer = Writer::new(archer, Uuid::from_u128(who as u128 + 1));
            writer.observe(&phone.log, NOW + n as u64);
            let old = phone.log.records_of(archer).min_by_key(|r| r.id).cloned();
            match (what, old) {
                (0..=2, _) | (3, None) => {
                    let id = write(&mut phone.log, &mut writer, n as u64 % 5 + 10 * who as u64, body);
                    written.insert((archer, id), phone.log.get(archer, id).unwrap().stamp);
                }
                (3, Some(old)) => {
                    let new = writer.edit(NOW + n as u64, &old, body);
                    written.insert((archer, new.id), new.stamp);
                    phone.log.insert(new);
                }
                _ => {
                    let before = phone.log.clone();
                    phone.run(&mut server, &mut tricks);
                    prop_assert_eq!(&before.merge(&phone.log), &phone.log, "something was lost");
                }
            }
            for ((archer, id), stamp) in &written {
                let there = phones.iter().any(|p| p.log.get(*archer, *id).is_some_and(|r| r.stamp >= *stamp));
                prop_assert!(there);
            }
        }
        for phone in [0, 1, 0, 1, 0] {
            phones[phone].sync(&mut server);
        }
        for phone in &mut phones {
            let report = phone.sync(&mut server);
            prop_assert!(report.is_in_step(), "{report:?}");
            for archer in phone.log.archers() {
                prop_assert_eq!(phone.log.digest_of(archer), server.log(archer).digest());
            }
        }
        prop_assert_eq!(&phones[0].log, &phones[1].log);
        prop_assert!(phones[0].log.len() >= written.len());
        prop_assert!(phones[0].log.records().all(|r| !matches!(&r.body, Body::Note(n) if n.text == "poison")));
    }
}

#[test]
fn a_log_that_is_refused_does_not_stop_the_others() {
    let (mut server, mut phones, mut writers) = in_step();
    // Anna's log comes first, and this device may see it no more.
    server.closed.insert(ANNA);
    let id = id::new_id(5, [3; 10]);
    server.take(Record::new(BEN, id, Stamp { ms: 5, counter: 0, device: Uuid::max() }, note("new")));
    write(&mut phones[0].log, &mut writers[0], 2, note("not sent"));
    let report = phones[0].sync(&mut server);
    assert!(matches!(report.logs[&ANNA].standing, Standing::Refused(Failure::NotFound(_))), "{report:?}");
    assert_eq!(report.logs[&BEN].standing, Standing::InStep);
    assert!(phones[0].log.get(BEN, id).is_some() && !report.is_in_step());
    assert_eq!(report.stopped, None);
}

#[test]
fn a_record_that_is_refused_is_set_aside_and_the_rest_goes_on() {
    for names_them in [false, true] {
        let (mut server, mut phones, mut writers) = in_step();
        let ids: Vec<Uuid> = (2..30).map(|n| write(&mut phones[0].log, &mut writers[0], n, note("n"))).collect();
        server.names_them = names_them;
        server.poison.extend([ids[3], ids[17]]);
        let report = phones[0].sync(&mut server);
        let anna = &report.logs[&ANNA];
        assert_eq!((&anna.standing, anna.aside.len()), (&Standing::Aside, 2), "{anna:?}");
        assert!(anna.aside.iter().all(|a| matches!(a.why, Why::Refused { .. })));
        for (n, id) in ids.iter().enumerate() {
            assert_eq!(server.log(ANNA).get(ANNA, *id).is_some(), n != 3 && n != 17, "{n}");
            assert!(phones[0].log.get(ANNA, *id).is_some());
        }
        // The next time nothing is tried anew, and it is still not called in step.
        let asked = phones[0].asked;
        let again = phones[0].sync(&mut server);
        assert_eq!(again.logs[&ANNA].standing, Standing::Aside);
        assert!(phones[0].asked <= asked + 2, "everything was sent again");
        // What is written then goes on its way, and that too without sending everything.
        write(&mut phones[0].log, &mut writers[0], 99, note("later"));
        let asked = phones[0].asked;
        assert_eq!(phones[0].sync(&mut server).logs[&ANNA].sent, 1);
        assert!(phones[0].asked <= asked + 4, "everything was sent again");
        // Once the server takes them all is well.
        server.poison.clear();
        phones[0].reached.clear();
        assert!(phones[0].sync(&mut server).is_in_step());
    }
}

#[test]
fn many_long_records_are_sent_in_requests_that_are_read() {
    let (mut server, mut phones, mut writers) = in_step();
    // Control characters take six bytes each on the wire: 500 of these are 12 MB.
    let text = "\u{1}".repeat(4_000);
    for n in 2..500 {
        write(&mut phones[0].log, &mut writers[0], n, note(&text));
    }
    (phones[0].at_once, server.page) = (Some(usize::MAX), Some(usize::MAX));
    assert!(phones[0].sync(&mut server).is_in_step());
    assert_eq!(server.log(ANNA).digest(), phones[0].log.digest_of(ANNA));
    assert_eq!(server.too_large, 0, "requests larger than a server reads were sent");
}

#[test]
fn a_stamp_far_ahead_is_set_aside_until_its_time_comes() {
    let (mut server, mut phones, _) = in_step();
    let ahead = Stamp { ms: NOW + 2 * stamp::AHEAD_MS, counter: u32::MAX, device: Uuid::max() };
    let id = id::new_id(5, [3; 10]);
    server.take(Record::new(ANNA, id, ahead, note("from a wrong clock")));
    let report = phones[0].sync(&mut server);
    assert_eq!(report.logs[&ANNA].standing, Standing::Aside);
    assert_eq!(phones[0].aside[0].why, Why::Ahead { ms: ahead.ms });
    assert!(phones[0].log.get(ANNA, id).is_none());
    assert_eq!(phones[0].aside[0].retry(NOW), None);
    assert_eq!(phones[0].aside[0].retry(ahead.ms - 5).map(|r| r.id), Some(id));
}

#[test]
fn digests_that_keep_differing_are_an_alarm_and_not_in_step() {
    let (mut server, mut phones, _) = in_step();
    for _ in 0..3 {
        let report =
            phones[0].run(&mut server, &mut std::iter::once(Trick::None).chain(std::iter::repeat(Trick::Lying)));
        for log in report.logs.values() {
            assert!(matches!(log.standing, Standing::Differs { .. }), "{log:?}");
        }
        assert!(!report.is_in_step());
    }
    assert!(phones[0].sync(&mut server).is_in_step());
}

#[test]
fn a_server_with_an_old_backup_is_given_everything_again() {
    let (mut server, mut phones, mut writers) = in_step();
    let old = server.clone();
    for n in 2..20 {
        write(&mut phones[0].log, &mut writers[0], n, note("n"));
    }
    assert!(phones[0].sync(&mut server).is_in_step());
    server = old;
    assert!(phones[0].sync(&mut server).is_in_step());
    assert_eq!(server.log(ANNA).digest(), phones[0].log.digest_of(ANNA));
}

#[test]
fn a_reader_is_told_what_may_not_be_sent() {
    let (mut server, mut phones, mut writers) = in_step();
    server.read_only.insert(ANNA);
    let id = write(&mut phones[1].log, &mut writers[1], 7, note("a coach wrote this"));
    let report = phones[1].sync(&mut server);
    let anna = &report.logs[&ANNA];
    assert_eq!((&anna.standing, &anna.unsent, anna.reader), (&Standing::Unsent, &vec![id], true), "{anna:?}");
    assert_eq!(phones[1].sync(&mut server).logs[&ANNA].standing, Standing::Unsent);
    // When it is erased over there, the reader does not make it anew as its own.
    server.logs.remove(&ANNA);
    let report = phones[1].sync(&mut server);
    assert!(!server.logs.contains_key(&ANNA), "{report:?}");
}

#[test]
fn two_who_changed_the_same_apart_are_told() {
    let (mut server, mut phones, mut writers) = in_step();
    let old = phones[0].log.records_of(ANNA).next().unwrap().clone();
    let first = writers[0].edit(NOW + 10, &old, note("the tablet's"));
    let second = writers[1].edit(NOW + 20, &old, note("the phone's"));
    phones[0].log.insert(first.clone());
    phones[1].log.insert(second.clone());
    assert!(phones[0].sync(&mut server).logs[&ANNA].conflicts.is_empty());
    let told = phones[1].sync(&mut server);
    assert_eq!(told.logs[&ANNA].conflicts, [Conflict { kept: second.clone(), other: first.clone() }]);
    assert!(phones[1].sync(&mut server).logs[&ANNA].conflicts.is_empty(), "once");
    // And the other way round: the one who comes later has the earlier version.
    let third = writers[0].edit(NOW + 30, &first, note("once more"));
    let fourth = writers[1].edit(NOW + 40, &second, note("and again"));
    phones[0].log.insert(third.clone());
    phones[1].log.insert(fourth.clone());
    phones[1].sync(&mut server);
    let told = phones[0].sync(&mut server);
    assert_eq!(told.logs[&ANNA].conflicts, [Conflict { kept: fourth, other: third }]);
}

#[test]
fn looking_often_costs_one_request_and_finds_what_changed() {
    let (mut server, mut phones, mut writers) = in_step();
    let quick = |phone: &mut Phone, server: &mut Server| {
        let mut device = Device::<Seen>::new(NOW, phone.log.archers()).quick();
        let mut ask = device.step(Came::Logs(server.list()));
        let mut sent = 0;
        loop {
            ask = device.step(match ask {
                Ask::Recall(archer) => Came::Recalled(phone.reached.get(&archer).cloned()),
                Ask::Mine { archer, since, .. } => {
                    let mine = phone.log.since(archer, &since).into_iter().cloned().collect();
                    Came::Mine(mine, phone.log.seen(archer))
                }
                Ask::Send(request) => {
                    sent += 1;
                    exchange(server, request, Trick::None)
                }
                Ask::Keep { archer, records, .. } => {
                    phone.log.extend(records);
                    Came::Kept(0, phone.log.digest_of(archer), phone.log.seen(archer))
                }
                Ask::Remember(archer, reached) => {
                    phone.reached.insert(archer, reached);
                    Came::Remembered
                }
                Ask::List | Ask::Done => break,
            });
        }
        assert!(device.report().is_in_step());
        sent
    };
    assert_eq!(quick(&mut phones[0], &mut server), 0);
    let id = write(&mut phones[0].log, &mut writers[0], 8, note("new"));
    assert_eq!(quick(&mut phones[0], &mut server), 1);
    assert_eq!(quick(&mut phones[1], &mut server), 1);
    assert!(phones[1].log.get(ANNA, id).is_some());
    assert_eq!(quick(&mut phones[1], &mut server), 0);
}

#[test]
fn a_log_that_was_erased_is_set_aside_on_every_device_and_never_sent_again() {
    let (mut server, mut phones, mut writers) = in_step();
    server.logs.remove(&ANNA);
    server.erased.insert(ANNA);
    for (phone, writer) in phones.iter_mut().zip(&mut writers) {
        write(&mut phone.log, writer, 40, note("written meanwhile"));
        let before = phone.log.clone();
        for _ in 0..2 {
            let report = phone.sync(&mut server);
            assert_eq!(report.logs[&ANNA].standing, Standing::Erased, "{report:?}");
            assert_eq!(report.logs[&BEN].standing, Standing::InStep);
            assert!(!report.is_in_step() && report.stopped.is_none());
        }
        assert!(phone.reached[&ANNA].erased);
        // From then on nothing is asked about it.
        let mut device = Device::<Seen>::new(NOW, [ANNA]);
        assert_eq!(device.step(Came::Logs(Vec::new())), Ask::Recall(ANNA));
        assert_eq!(device.step(Came::Recalled(phone.reached.get(&ANNA).cloned())), Ask::Done);
        assert_eq!(phone.log, before, "what is here stays here");
        assert!(!server.logs.contains_key(&ANNA), "it came back");
    }
    // When it stands there anew, it is a log like any other.
    server.erased.clear();
    server.take(phones[1].log.records_of(ANNA).next().unwrap().clone());
    assert!(phones[0].sync(&mut server).is_in_step());
    assert_eq!(server.log(ANNA).digest(), phones[0].log.digest_of(ANNA));
}

#[test]
fn a_log_that_was_left_is_left_alone() {
    let (server, phones, _) = in_step();
    let mut device = Device::<Seen>::new(NOW, phones[0].log.archers()).without([ANNA]);
    assert_eq!(device.step(Came::Logs(server.list())), Ask::Recall(BEN));
}
