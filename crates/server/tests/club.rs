//! A club over HTTP, on both stores: newcomers by a link and those who abuse it, groups, notes, and a guardian's consent.

mod common;
#[path = "../../store/tests/common/postgres.rs"]
mod postgres;

use common::running::{PASSWORD, Running, device, login, start, start_on};
use common::{Answer, JSON, NOT_YET, note, send, sync, waits_end_at};
use goldward_journal::{Uuid, Writer};
use goldward_server::auth::fresh_id;
use goldward_store::guardian::{MinorSet, SetManager, SetMinor};
use goldward_store::who::FindAccount;
use goldward_store::{Backend as _, Op, Place, Store};
use serde_json::{Value, json};

/// Runs it on both stores.
fn on_both(names: &[&str], scenario: impl Fn(&Running, &Place)) {
    let folder = tempfile::tempdir().unwrap();
    let place = Place::File(folder.path().join("log.db"));
    scenario(&start_on(folder, &place, names), &place);
    if let Some(server) = postgres::Postgres::start() {
        let place = Place::Postgres(server.address());
        scenario(&start_on(tempfile::tempdir().unwrap(), &place, names), &place);
    }
}

fn call(server: &Running, role: &str, method: &str, path: &str, body: Value) -> Answer {
    let body = if body.is_null() { String::new() } else { body.to_string() };
    send(server.addr, method, &format!("/api/v1/{path}"), &format!("{JSON}{role}"), body.as_bytes()).unwrap()
}

/// What whoever looks after the store does.
fn kept<O: Op>(server: &Running, place: &Place, op: O) -> O::Out {
    server.runtime.block_on(async { Store::open(place).await.unwrap().run(op).await.unwrap() })
}

fn account(server: &Running, place: &Place, name: &str) -> Uuid {
    kept(server, place, FindAccount(name.to_owned())).unwrap().id
}

fn newcomer(code: &Value, name: &str) -> Value {
    json!({ "code": code, "name": name, "password": "four words of mine" })
}

/// The cookie of an answer.
fn cookie(answer: &Answer) -> String {
    format!("Cookie: {}\r\n", answer.header("set-cookie").unwrap().split(';').next().unwrap())
}

#[test]
fn newcomers_come_by_the_link_until_it_is_off() {
    on_both(&["olga", "anna"], |server, place| {
        let (olga, anna) = (login(server.addr, "olga"), login(server.addr, "anna"));
        let manager = SetManager { account: account(server, place, "olga"), manages: true };
        assert_eq!(call(server, &olga, "POST", "sign-up", Value::Null).status, 403, "not yet");
        kept(server, place, manager);
        assert_eq!(call(server, &anna, "POST", "sign-up", Value::Null).status, 403, "she does not look after it");
        assert_eq!(call(server, &olga, "GET", "sign-up", Value::Null).json()["open"], false);
        for wrong in [
            json!({ "room": 0 }),
            json!({ "room": 501 }),
            json!({ "days": 91 }),
            json!({ "room": -1 }),
            // Fields without their names.
            json!([null, null]),
            json!([]),
            json!("x"),
        ] {
            assert_eq!(call(server, &olga, "POST", "sign-up", wrong).status, 422);
        }
        let link = call(server, &olga, "POST", "sign-up", json!({ "room": 3 }));
        assert_eq!(link.status, 201, "{}", link.text());
        let code = link.json()["code"].clone();
        let told = call(server, &olga, "GET", "sign-up", Value::Null).json();
        assert_eq!((&told["open"], &told["room"], &told["code"]), (&json!(true), &json!(3), &Value::Null));

        // Names and passwords that are none, and one that is taken: the link keeps its room.
        for name in ["", " paul", "pa\nul", "pa\0ul", "pa\u{202e}ul", "pa\u{200b}ul", &"x".repeat(101)] {
            let answer = call(server, "", "POST", "accounts", newcomer(&code, name));
            assert_eq!(answer.status, 422, "{name:?}: {}", answer.text());
        }
        for password in ["short", "1234567890", "password123"] {
            let body = json!({ "code": code, "name": "paul", "password": password });
            assert_eq!(call(server, "", "POST", "accounts", body).status, 422, "{password}");
        }
        for taken in ["anna", "ANNA", "\u{ff41}nna"] {
            assert_eq!(call(server, "", "POST", "accounts", newcomer(&code, taken)).status, 409, "{taken}");
        }
        assert_eq!(call(server, &olga, "GET", "sign-up", Value::Null).json()["room"], 3);

        // One comes in, signed in at once, with an account like any other and no rights of its own.
        let typed = json!(code.as_str().unwrap().to_uppercase().replace('-', " "));
        let came = call(server, "", "POST", "accounts", newcomer(&typed, "Paul"));
        assert_eq!(came.status, 201, "{}", came.text());
        let paul = cookie(&came);
        let me = call(server, &paul, "GET", "me", Value::Null).json();
        assert_eq!((&me["name"], &me["manages"], &me["minor"]), (&json!("Paul"), &json!(false), &json!(false)));
        assert_eq!(call(server, &paul, "GET", "logs", Value::Null).json(), json!([]));
        assert_eq!(call(server, &paul, "POST", "sign-up", Value::Null).status, 403);
        let log = [note(&mut Writer::new(Uuid::from_u128(0xB), Uuid::from_u128(1)), 1)];
        let body = sync(Uuid::from_u128(0xB), 0, &log);
        let sent = send(server.addr, "POST", "/api/v1/sync", &format!("{JSON}{paul}"), &body).unwrap();
        assert_eq!(sent.status, 200, "{}", sent.text());
        let trail = call(server, &olga, "GET", "trail", Value::Null).json();
        assert_eq!((&trail[0]["what"], &trail[0]["about"]), (&json!("newcomer"), &json!("Paul")));

        // A page of another site does not make accounts, nor does one who is told by no link.
        let foreign = "Origin: https://evil.example\r\n";
        assert_eq!(call(server, foreign, "POST", "accounts", newcomer(&code, "eve")).status, 403);
        for wrong in [json!("0000-0000-0000"), json!(""), json!("x".repeat(5000)), json!("\u{20ac}".repeat(60))] {
            assert_eq!(call(server, "", "POST", "accounts", newcomer(&wrong, "eve")).status, 404);
        }
        // A later link ends the one before; off is off, for whoever has kept the link.
        let later = call(server, &olga, "POST", "sign-up", Value::Null).json();
        assert_eq!(call(server, "", "POST", "accounts", newcomer(&code, "eve")).status, 404);
        assert_eq!(later["room"], 30);
        assert_eq!(call(server, &olga, "DELETE", "sign-up", Value::Null).status, 204);
        assert_eq!(call(server, &olga, "DELETE", "sign-up", Value::Null).status, 404);
        assert_eq!(call(server, "", "POST", "accounts", newcomer(&later["code"], "eve")).status, 404);
    });
}

#[test]
fn a_flood_of_newcomers_waits_and_fills_no_more_than_the_link() {
    let server = start(&["olga"]);
    let place = Place::File(server.folder.path().join("log.db"));
    kept(&server, &place, SetManager { account: account(&server, &place, "olga"), manages: true });
    let olga = login(server.addr, "olga");
    let code = call(&server, &olga, "POST", "sign-up", json!({ "room": 2 })).json()["code"].clone();
    // Many at once: as many come in as there is room for, and no name comes in twice.
    let statuses: Vec<u16> = std::thread::scope(|scope| {
        let (server, code) = (&server, &code);
        let tasks: Vec<_> = (0..6)
            .map(|n| {
                scope.spawn(move || {
                    call(server, "", "POST", "accounts", newcomer(code, &format!("bot {}", n / 2))).status
                })
            })
            .collect();
        tasks.into_iter().map(|t| t.join().unwrap()).collect()
    });
    let came = statuses.iter().filter(|s| **s == 201).count();
    assert_eq!(came, 2, "{statuses:?}");
    assert!(statuses.iter().all(|s| [201, 404, 409, 503].contains(s)), "{statuses:?}");
    assert_eq!(call(&server, &olga, "GET", "sign-up", Value::Null).json()["open"], false, "it is full");
    // Codes that are guessed: from the 41st try of an address on each makes the next one wait.
    let tries: Vec<u16> = (0..35)
        .map(|n| call(&server, "", "POST", "accounts", newcomer(&json!(format!("{n}")), "eve")).status)
        .collect();
    assert_eq!(tries[..34], [404; 34]);
    let file = server.folder.path().join("log.db");
    assert!(waits_end_at(&file, NOT_YET) > 0);
    // A right one waits too, and is not looked at.
    let code = call(&server, &olga, "POST", "sign-up", Value::Null).json()["code"].clone();
    let answer = call(&server, "", "POST", "accounts", newcomer(&code, "quinn"));
    assert_eq!((answer.status, answer.header("retry-after").is_some()), (429, true), "{}", answer.text());
    // Who has an account there logs in meanwhile.
    assert_eq!(
        send(
            server.addr,
            "POST",
            "/api/v1/login",
            JSON,
            json!({ "name": "olga", "password": PASSWORD }).to_string().as_bytes()
        )
        .unwrap()
        .status,
        204
    );
    waits_end_at(&file, 1);
    assert_eq!(call(&server, "", "POST", "accounts", newcomer(&code, "quinn")).status, 201, "nobody is locked out");
}

#[test]
fn where_nobody_logs_in_nobody_signs_up() {
    let server = start(&[]);
    assert_eq!(call(&server, "", "POST", "accounts", newcomer(&json!("x"), "eve")).status, 403);
    assert_eq!(call(&server, "", "GET", "sign-up", Value::Null).status, 403);
}

/// A log of whoever that is.
fn has_log(server: &Running, role: &str, log: Uuid) {
    let records = [note(&mut Writer::new(log, Uuid::from_u128(1)), 1)];
    let sent = send(server.addr, "POST", "/api/v1/sync", &format!("{JSON}{role}"), &sync(log, 0, &records)).unwrap();
    assert_eq!(sent.status, 200, "{}", sent.text());
}

/// Takes an invitation to it; returns the answer.
fn coaches(server: &Running, archer: &str, coach: &str, log: Uuid, write: bool) -> Value {
    let invitation = call(server, archer, "POST", &format!("logs/{log}/invitations"), json!({ "write": write }));
    assert_eq!(invitation.status, 201, "{}", invitation.text());
    call(server, coach, "POST", "invitations/accept", json!({ "code": invitation.json()["code"] })).json()
}

#[test]
fn groups_are_ones_own_words() {
    on_both(&["anna", "ben", "carla"], |server, _| {
        let (anna, ben, carla) = (login(server.addr, "anna"), login(server.addr, "ben"), login(server.addr, "carla"));
        let log = Uuid::from_u128(0xA);
        has_log(server, &anna, log);
        coaches(server, &anna, &ben, log, false);
        let set = |role: &str, groups: Value| {
            call(server, role, "PUT", &format!("roster/{log}"), json!({ "groups": groups })).status
        };
        let roster = |role: &str| call(server, role, "GET", "roster", Value::Null).json();
        assert_eq!(set(&ben, json!(["Tuesday", " juniors ", "", "Tuesday"])), 204);
        assert_eq!(roster(&ben), json!([{ "archer": log, "groups": ["Tuesday", "juniors"] }]));
        assert_eq!((roster(&anna), roster(&carla)), (json!([]), json!([])), "nobody else sees them");
        for wrong in [
            json!(["a\nb"]),
            json!(["a\u{202e}b"]),
            json!(["a\0b"]),
            json!(["x".repeat(41)]),
            json!(vec!["x"; 3][0]),
            json!([1]),
        ] {
            assert_eq!(set(&ben, wrong.clone()), 422, "{wrong}");
        }
        let many: Vec<String> = (0..11).map(|n| n.to_string()).collect();
        assert_eq!(set(&ben, json!(many)), 422);
        assert_eq!(set(&carla, json!(["juniors"])), 404, "she does not see the log");
        assert_eq!(call(server, &ben, "PUT", "roster/nonsense", json!({ "groups": [] })).status, 404);
        // The same account on another device; none takes the archer out.
        let tablet = login(server.addr, "ben");
        assert_eq!(roster(&tablet), roster(&ben));
        assert_eq!(set(&tablet, json!([])), 204);
        assert_eq!(roster(&ben), json!([]));
    });
}

#[test]
fn a_coach_writes_and_the_archer_reads() {
    on_both(&["anna", "ben", "carla"], |server, _| {
        let (anna, ben, carla) = (login(server.addr, "anna"), login(server.addr, "ben"), login(server.addr, "carla"));
        let log = Uuid::from_u128(0xA);
        has_log(server, &anna, log);
        coaches(server, &anna, &ben, log, false);
        coaches(server, &anna, &carla, log, true);
        let path = format!("logs/{log}/notes");
        let write = |role: &str, text: &str| call(server, role, "POST", &path, json!({ "text": text }));
        for wrong in ["", "  \n ", "a\u{202e}b", "a\0b", "a\rb", &"x".repeat(2001)] {
            assert_eq!(write(&ben, wrong).status, 422, "{wrong:?}");
        }
        let hostile = "<img src=x onerror=alert(1)>\n\n\u{1f468}\u{200d}\u{1f469} 'quoted' \"too\"";
        let kept = write(&ben, &format!("  {hostile}  "));
        assert_eq!(kept.status, 201, "{}", kept.text());
        let id = kept.json()["id"].as_str().unwrap().to_owned();
        assert_eq!(write(&carla, "Well shot").status, 201);
        let notes = |role: &str| call(server, role, "GET", &path, Value::Null).json();
        let told = notes(&anna);
        assert_eq!(told.as_array().unwrap().len(), 2);
        let of_ben = told.as_array().unwrap().iter().find(|n| n["from"] == "ben").unwrap().clone();
        assert_eq!(
            (&of_ben["text"], &of_ben["read_ms"], &of_ben["own"]),
            (&json!(hostile), &Value::Null, &json!(false))
        );
        assert_eq!((notes(&ben).as_array().unwrap().len(), &notes(&ben)[0]["own"]), (1, &json!(true)), "only his own");
        let unread = |role: &str| call(server, role, "GET", "logs", Value::Null).json()[0]["unread"].as_u64();
        assert_eq!((unread(&anna), unread(&ben)), (Some(2), Some(0)));
        // Reading is hers alone, by a browser; no device's token does it.
        let read = |role: &str| call(server, role, "POST", &format!("{path}/{id}/read"), Value::Null).status;
        assert_eq!((read(&ben), read(&carla), read(&device(server.addr, &anna))), (403, 403, 403));
        assert_eq!((read(&anna), read(&anna), unread(&anna)), (204, 204, Some(1)));
        assert!(notes(&ben)[0]["read_ms"].as_u64().is_some());
        // Carla takes nothing of ben's away; ben and anna do.
        let remove = |role: &str| call(server, role, "DELETE", &format!("{path}/{id}"), Value::Null).status;
        assert_eq!((remove(&carla), remove(&ben), remove(&anna)), (404, 204, 404));
        // What was revoked stays hers, and is out of the coach's reach.
        let ids = call(server, &anna, "GET", &format!("logs/{log}/coaches"), Value::Null).json();
        let of_carla = ids.as_array().unwrap().iter().find(|c| c["name"] == "carla").unwrap()["account"].clone();
        let revoke = format!("logs/{log}/coaches/{}", of_carla.as_str().unwrap());
        assert_eq!(call(server, &anna, "DELETE", &revoke, Value::Null).status, 204);
        assert_eq!((write(&carla, "once more").status, notes(&anna).as_array().unwrap().len()), (404, 1));
        // Nothing of what was written is in the log.
        let export = call(server, &anna, "GET", &format!("logs/{log}/export"), Value::Null);
        assert!(!export.text().contains("Well shot"));
    });
}

#[test]
fn who_is_under_age_is_seen_when_the_guardian_agrees() {
    on_both(&["anna", "ben", "paula"], |server, place| {
        let (anna, ben, paula) = (login(server.addr, "anna"), login(server.addr, "ben"), login(server.addr, "paula"));
        let log = Uuid::from_u128(0xA);
        has_log(server, &anna, log);
        let [child, coach, parent] = ["anna", "ben", "paula"].map(|n| account(server, place, n));
        let sees = |role: &str| -> [u16; 2] {
            let read =
                send(server.addr, "POST", "/api/v1/sync", &format!("{JSON}{role}"), &sync(log, 0, &[])).unwrap().status;
            [read, call(server, role, "GET", &format!("logs/{log}/export"), Value::Null).status]
        };
        assert_eq!(sees(&paula), [404; 2]);
        let op = |guardian, minor| SetMinor {
            account: child,
            minor,
            guardian,
            now_ms: 5,
            entries: [fresh_id(), fresh_id()],
        };
        assert_eq!(kept(server, place, op(Some(parent), true)), MinorSet::Done);
        // Whoever reads it is told whose it is, also before anything has come.
        let of = |role: &str| call(server, role, "GET", "logs", Value::Null).json()[0]["of"].clone();
        assert_eq!((of(&paula), of(&anna)), (json!("anna"), Value::Null));
        // She is told whose consent it takes, and the guardian whose.
        let me = call(server, &anna, "GET", "me", Value::Null).json();
        assert_eq!((&me["minor"], &me["guardian"]["name"]), (&json!(true), &json!("paula")));
        assert_eq!(call(server, &paula, "GET", "me", Value::Null).json()["guards"][0]["name"], "anna");
        assert_eq!(sees(&paula), [200; 2]);
        let listed = call(server, &paula, "GET", "logs", Value::Null).json();
        let told = ["own", "write", "guards"].map(|key| listed[0][key].as_bool().unwrap());
        assert_eq!(told, [false, false, true]);
        let more = [note(&mut Writer::new(log, Uuid::from_u128(2)), 2)];
        let written =
            send(server.addr, "POST", "/api/v1/sync", &format!("{JSON}{paula}"), &sync(log, 0, &more)).unwrap();
        assert_eq!(written.status, 403, "a guardian reads");

        let given = coaches(server, &anna, &ben, log, true);
        assert_eq!((&given["waits"], sees(&ben)), (&json!(true), [404; 2]), "{given}");
        assert_eq!(call(server, &ben, "GET", "logs", Value::Null).json(), json!([]));
        let note = json!({ "text": "hello" });
        assert_eq!(call(server, &ben, "POST", &format!("logs/{log}/notes"), note.clone()).status, 404);
        let (list, one) = (format!("logs/{log}/coaches"), format!("logs/{log}/coaches/{coach}"));
        for role in [&anna, &paula] {
            assert_eq!(call(server, role, "GET", &list, Value::Null).json()[0]["agreed"], false);
        }
        let agree = |role: &str| call(server, role, "POST", &format!("{one}/agree"), Value::Null).status;
        assert_eq!((agree(&anna), agree(&ben)), (403, 404), "it is the guardian's to say");
        assert_eq!((agree(&paula), agree(&paula), sees(&ben)), (204, 404, [200; 2]));
        // The guardian invites nobody, and reads what was written to her.
        assert_eq!(call(server, &paula, "POST", &format!("logs/{log}/invitations"), Value::Null).status, 403);
        let written = call(server, &ben, "POST", &format!("logs/{log}/notes"), note);
        let path = format!("logs/{log}/notes");
        assert_eq!(call(server, &paula, "GET", &path, Value::Null).json()[0]["text"], "hello");
        let path = format!("{path}/{}", written.json()["id"].as_str().unwrap());
        assert_eq!(call(server, &paula, "DELETE", &path, Value::Null).status, 404, "and leaves it there");
        assert_eq!(call(server, &paula, "POST", &format!("{path}/read"), Value::Null).status, 403);
        // What was agreed to is taken back by either.
        assert_eq!(call(server, &paula, "DELETE", &one, Value::Null).status, 204);
        assert_eq!(sees(&ben), [404; 2]);
        assert_eq!(
            call(server, &paula, "POST", &format!("logs/{log}/erase"), json!({ "password": PASSWORD })).status,
            403
        );
        // When it is over the guardian sees nothing any more.
        assert_eq!(kept(server, place, op(None, false)), MinorSet::Done);
        assert_eq!((sees(&paula), sees(&anna)), ([404; 2], [200; 2]));
        assert_eq!(coaches(server, &anna, &ben, log, false)["waits"], false);
    });
}

#[test]
fn a_manager_names_a_guardian_where_there_is_none_and_gets_no_log_that_way() {
    on_both(&["anna", "ben", "olga", "paula"], |server, place| {
        let [anna, ben, olga, paula] = ["anna", "ben", "olga", "paula"].map(|n| login(server.addr, n));
        let [child, grown, secretary] = ["anna", "ben", "olga"].map(|n| account(server, place, n));
        let log = Uuid::from_u128(0xA);
        has_log(server, &anna, log);
        kept(server, place, SetManager { account: secretary, manages: true });
        let op = SetMinor { account: child, minor: true, guardian: None, now_ms: 5, entries: [fresh_id(), fresh_id()] };
        assert_eq!(kept(server, place, op), MinorSet::Done);
        for role in [&anna, &ben, &device(server.addr, &olga)] {
            assert_eq!(call(server, role, "GET", "guardians", Value::Null).status, 403);
            let put = call(server, role, "PUT", &format!("guardians/{child}"), json!({ "guardian": "ben" }));
            assert_eq!(put.status, 403);
        }
        let waiting = || call(server, &olga, "GET", "guardians", Value::Null).json();
        assert_eq!(waiting(), json!([{ "account": child, "name": "anna" }]));
        let names = |whose: Uuid, guardian: &str| {
            call(server, &olga, "PUT", &format!("guardians/{whose}"), json!({ "guardian": guardian })).status
        };
        // Not herself, not the child, nobody who is not there, no name that is none; and nobody who is of age gets one.
        for wrong in ["olga", "OLGA", "anna", "nobody", "", "a\0b"] {
            assert_eq!(names(child, wrong), 422, "{wrong:?}");
        }
        assert_eq!((names(grown, "paula"), names(Uuid::from_u128(1), "paula")), (404, 404));
        let sees = |role: &str| call(server, role, "GET", &format!("logs/{log}/export"), Value::Null).status;
        assert_eq!((sees(&olga), sees(&paula)), (404, 404));
        assert_eq!((names(child, "Paula"), names(child, "ben")), (204, 404), "there is one now");
        assert_eq!((sees(&olga), sees(&paula), sees(&ben), waiting()), (404, 200, 404, json!([])));
        let trail = call(server, &olga, "GET", "trail", Value::Null);
        assert!(trail.text().contains("guardian_named") && trail.text().contains("anna"), "{}", trail.text());
    });
}
