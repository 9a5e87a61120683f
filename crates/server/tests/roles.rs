//! Every route by every role: nobody reads or writes another's log. Over a real connection.

mod common;

use common::running::{PASSWORD, device, login, start};
use common::{Answer, JSON, NOT_YET, note, send, sync, waits_end_at};
use goldward_journal::{Uuid, Writer};
use goldward_server::{Config, ServeError, prepare};
use goldward_store::{Place, Store};

#[test]
fn nobody_reads_or_writes_anothers_log() {
    let server = start(&["anna", "ben", "carla"]);
    let addr = server.addr;
    let (anna, ben, carla) = (login(addr, "anna"), login(addr, "ben"), login(addr, "carla"));
    let (anna_phone, ben_phone) = (device(addr, &anna), device(addr, &ben));
    let account = |cookie: &str| -> String {
        send(addr, "GET", "/api/v1/me", cookie, b"").unwrap().json()["account"].as_str().unwrap().to_owned()
    };
    let ben_account = account(&ben);
    // Anna's log, with ben for a coach.
    let log = Uuid::from_u128(0xA);
    let mut writer = Writer::new(log, Uuid::from_u128(1));
    let records = [note(&mut writer, 1), note(&mut writer, 2)];
    let call = |role: &str, method: &str, path: &str, body: &[u8]| -> Answer {
        send(addr, method, path, &format!("{JSON}{role}"), body).unwrap()
    };
    assert_eq!(call(&anna_phone, "POST", "/api/v1/sync", &sync(log, 0, &records)).status, 200);
    let invitation = call(&anna, "POST", &format!("/api/v1/logs/{log}/invitations"), b"");
    assert_eq!(invitation.status, 201);
    let code = serde_json::json!({ "code": invitation.json()["code"] }).to_string();
    assert_eq!(call(&ben, "POST", "/api/v1/invitations/accept", code.as_bytes()).status, 200);

    let more = [note(&mut writer, 3)];
    let (read, write) = (sync(log, 0, &[]), sync(log, 0, &more));
    let bad_code = b"{\"code\":\"0\"}".as_slice();
    let (export, session) = (format!("/api/v1/logs/{log}/export"), format!("/api/v1/logs/{log}/sessions/{log}"));
    let (coaches, invite) = (format!("/api/v1/logs/{log}/coaches"), format!("/api/v1/logs/{log}/invitations"));
    let (erase, not_mine) = (format!("/api/v1/logs/{log}/erase"), b"{\"password\":\"not the password\"}".as_slice());
    let no_invitation = format!("{invite}/{}", Uuid::nil());
    let strange = format!("/api/v1/logs/{log}/coaches/{}", Uuid::nil());
    let no_device = format!("/api/v1/devices/{}", Uuid::nil());
    let no_session = format!("/api/v1/sessions/{}", Uuid::nil());
    let wrong_old = b"{\"old\":\"not the password\",\"new\":\"another password\"}".as_slice();
    // Roles: owner's browser, owner's device, coach's browser, coach's device, another's browser, nobody, a false cookie.
    let roles = [&anna, &anna_phone, &ben, &ben_phone, &carla, "", "Cookie: goldward_session=0\r\n"];
    let (second, code) = ("/api/v1/second-factor", b"{\"code\":\"000000\"}".as_slice());
    let newcomer = b"{\"code\":\"0\",\"name\":\"x\",\"password\":\"correct horse battery\"}".as_slice();
    let (roster, agree) = (format!("/api/v1/roster/{log}"), format!("{strange}/agree"));
    let notes = format!("/api/v1/logs/{log}/notes");
    let ward = format!("/api/v1/guardians/{}", Uuid::nil());
    let no_note = format!("{notes}/{}", Uuid::nil());
    let read_note = format!("{no_note}/read");
    let (confirm, remove) = (format!("{second}/confirm"), format!("{second}/remove"));
    let matrix: [(&str, &str, &[u8], [u16; 7]); 40] = [
        ("POST", "/api/v1/sync", &read, [200, 200, 200, 200, 404, 401, 401]),
        ("POST", "/api/v1/sync", &write, [200, 200, 403, 403, 404, 401, 401]),
        ("GET", &export, b"", [200, 200, 200, 200, 404, 401, 401]),
        ("GET", &session, b"", [200, 200, 200, 200, 404, 401, 401]),
        ("GET", "/api/v1/logs", b"", [200, 200, 200, 200, 200, 401, 401]),
        ("GET", &coaches, b"", [200, 403, 403, 403, 404, 401, 401]),
        ("POST", &invite, b"", [201, 403, 403, 403, 404, 401, 401]),
        ("GET", &invite, b"", [200, 403, 403, 403, 404, 401, 401]),
        ("DELETE", &no_invitation, b"", [404, 403, 403, 403, 404, 401, 401]),
        ("DELETE", &strange, b"", [404, 403, 403, 403, 404, 401, 401]),
        ("POST", "/api/v1/invitations/accept", bad_code, [404, 403, 404, 403, 404, 401, 401]),
        ("GET", "/api/v1/devices", b"", [200, 403, 200, 403, 200, 401, 401]),
        ("POST", "/api/v1/devices", b"{\"label\":\"x\"}", [201, 403, 201, 403, 201, 401, 401]),
        ("DELETE", &no_device, b"", [404, 403, 404, 403, 404, 401, 401]),
        ("GET", "/api/v1/sessions", b"", [200, 403, 200, 403, 200, 401, 401]),
        ("DELETE", &no_session, b"", [404, 403, 404, 403, 404, 401, 401]),
        ("POST", "/api/v1/password", wrong_old, [403, 403, 403, 403, 403, 401, 401]),
        ("GET", "/api/v1/trail", b"", [200, 403, 200, 403, 200, 401, 401]),
        ("POST", &erase, not_mine, [403, 403, 403, 403, 404, 401, 401]),
        ("POST", "/api/v1/account/erase", not_mine, [403, 403, 403, 403, 403, 401, 401]),
        ("POST", second, not_mine, [403, 403, 403, 403, 403, 401, 401]),
        ("POST", &confirm, code, [404, 403, 404, 403, 404, 401, 401]),
        ("POST", &remove, not_mine, [403, 403, 403, 403, 403, 401, 401]),
        ("GET", "/api/v1/sign-up", b"", [403, 403, 403, 403, 403, 401, 401]),
        ("POST", "/api/v1/sign-up", b"{}", [403, 403, 403, 403, 403, 401, 401]),
        ("DELETE", "/api/v1/sign-up", b"", [403, 403, 403, 403, 403, 401, 401]),
        ("GET", "/api/v1/guardians", b"", [403, 403, 403, 403, 403, 401, 401]),
        ("PUT", &ward, b"{\"guardian\":\"ben\"}", [403, 403, 403, 403, 403, 401, 401]),
        ("POST", "/api/v1/accounts", newcomer, [404; 7]),
        ("GET", "/api/v1/roster", b"", [200, 403, 200, 403, 200, 401, 401]),
        ("PUT", &roster, b"{\"groups\":[\"x\"]}", [204, 403, 204, 403, 404, 401, 401]),
        ("POST", &agree, b"", [403, 403, 403, 403, 404, 401, 401]),
        ("GET", &notes, b"", [200, 403, 200, 403, 404, 401, 401]),
        ("POST", &notes, b"{\"text\":\"x\"}", [403, 403, 201, 403, 404, 401, 401]),
        ("DELETE", &no_note, b"", [404, 403, 404, 403, 404, 401, 401]),
        ("POST", &read_note, b"", [404, 403, 403, 403, 404, 401, 401]),
        ("GET", "/api/v1/me", b"", [200, 200, 200, 200, 200, 401, 401]),
        ("GET", "/api/v1/openapi.json", b"", [200; 7]),
        ("GET", "/healthz", b"", [200; 7]),
        ("GET", "/anything", b"", [200; 7]),
    ];
    for (method, path, body, wanted) in matrix {
        for (i, (role, status)) in roles.iter().zip(wanted).enumerate() {
            let answer = call(role, method, path, body);
            assert_eq!(answer.status, status, "{method} {path} by role {i}: {}", answer.text());
        }
    }
    // Every route of the document is in the matrix, or tested below.
    let document = call("", "GET", "/api/v1/openapi.json", b"").json();
    let routes: usize = document["paths"].as_object().unwrap().values().map(|p| p.as_object().unwrap().len()).sum();
    assert_eq!(routes, 40, "a route was added: give it a row");

    // What others see of the log: nothing.
    assert_eq!(call(&carla, "GET", "/api/v1/logs", b"").json(), serde_json::json!([]));
    assert_eq!(call(&ben, "GET", "/api/v1/logs", b"").json()[0]["own"], false);
    // A record of another archer does not come in through one's own log.
    let mine = Uuid::from_u128(0xB);
    let answer = call(&carla, "POST", "/api/v1/sync", &sync(mine, 0, &more)).json();
    assert_eq!((answer["accepted"].as_u64(), &answer["refused"][0]["reason"]), (Some(0), &"other_archer".into()));
    // Another's device cannot be ended.
    let devices = call(&anna, "GET", "/api/v1/devices", b"").json();
    let path = format!("/api/v1/devices/{}", devices[0]["id"].as_str().unwrap());
    assert_eq!(call(&carla, "DELETE", &path, b"").status, 404);
    // Revoked, the coach sees nothing at once.
    assert_eq!(call(&anna, "DELETE", &format!("{coaches}/{ben_account}"), b"").status, 204);
    assert_eq!(call(&ben, "GET", &export, b"").status, 404);
    assert_eq!(call(&ben_phone, "POST", "/api/v1/sync", &read).status, 404);
    assert_eq!(call(&anna, "DELETE", &path, b"").status, 204);
    assert_eq!(call(&anna_phone, "GET", "/api/v1/logs", b"").status, 401, "the token has ended");
    // A page of another site, and a cookie after logging out.
    let foreign = format!("{anna}Origin: https://elsewhere.example\r\n");
    assert_eq!(call(&foreign, "POST", "/api/v1/logout", b"").status, 403);
    assert_eq!(call(&anna, "POST", "/api/v1/logout", b"").status, 204);
    assert_eq!(call(&anna, "GET", "/api/v1/me", b"").status, 401);
}

#[test]
fn a_coach_who_was_let_write_writes_until_it_is_taken_back() {
    let server = start(&["anna", "ben", "carla"]);
    let addr = server.addr;
    let (anna, ben, carla) = (login(addr, "anna"), login(addr, "ben"), login(addr, "carla"));
    let call = |role: &str, method: &str, path: &str, body: &[u8]| -> Answer {
        send(addr, method, path, &format!("{JSON}{role}"), body).unwrap()
    };
    let log = Uuid::from_u128(0xA);
    let mut writer = Writer::new(log, Uuid::from_u128(1));
    let (first, second) = ([note(&mut writer, 1)], [note(&mut writer, 2)]);
    assert_eq!(call(&anna, "POST", "/api/v1/sync", &sync(log, 0, &first)).status, 200);
    let (invite, coaches) = (format!("/api/v1/logs/{log}/invitations"), format!("/api/v1/logs/{log}/coaches"));
    let fresh = |body: &[u8]| call(&anna, "POST", &invite, body).json();
    let accept = |role: &str, code: &serde_json::Value| {
        call(role, "POST", "/api/v1/invitations/accept", serde_json::json!({ "code": code }).to_string().as_bytes())
    };
    // One that is taken back, and one that its own archer opens.
    let back = fresh(b"");
    let path = format!("{invite}/{}", back["id"].as_str().unwrap());
    assert_eq!(call(&carla, "DELETE", &path, b"").status, 404);
    assert_eq!(call(&anna, "GET", &invite, b"").json()[0]["id"], back["id"]);
    assert_eq!(call(&anna, "DELETE", &path, b"").status, 204);
    assert_eq!(accept(&ben, &back["code"]).status, 404);
    assert_eq!(call(&anna, "POST", &invite, b"{\"write\":1}").status, 422);
    let code = fresh(b"{\"write\":true}")["code"].clone();
    assert_eq!(accept(&anna, &code).status, 404);
    // Read out and typed in another way.
    let typed = code.as_str().unwrap().to_uppercase().replace('-', " ");
    let given = accept(&ben, &typed.into());
    assert_eq!(given.status, 200, "{}", given.text());
    assert_eq!((&given.json()["from"], &given.json()["write"]), (&"anna".into(), &true.into()));
    assert_eq!(accept(&carla, &code).status, 404, "it works once");
    let listed = call(&ben, "GET", "/api/v1/logs", b"").json();
    assert_eq!((&listed[0]["own"], &listed[0]["write"]), (&false.into(), &true.into()));
    let there = call(&anna, "GET", &coaches, b"").json();
    assert_eq!((&there[0]["name"], &there[0]["write"]), (&"ben".into(), &true.into()));
    assert!(there[0]["read_ms"].is_null(), "he has not looked yet: {there}");
    // He reads, and she sees that; her own reading is not told.
    assert_eq!(call(&ben, "POST", "/api/v1/sync", &sync(log, 0, &[])).status, 200);
    assert_eq!(call(&anna, "POST", "/api/v1/sync", &sync(log, 0, &[])).status, 200);
    let seen = call(&anna, "GET", &coaches, b"").json();
    assert!(seen[0]["read_ms"].as_u64() > there[0]["since_ms"].as_u64().map(|ms| ms - 1), "{seen}");
    assert_eq!(seen.as_array().unwrap().len(), 1);
    // He writes; who sees it, and what becomes of it, stays with its archer.
    let answer = call(&ben, "POST", "/api/v1/sync", &sync(log, 0, &second));
    assert_eq!((answer.status, answer.json()["accepted"].as_u64()), (200, Some(1)));
    assert_eq!(call(&anna, "GET", "/api/v1/logs", b"").json()[0]["records"], 2);
    assert_eq!(call(&ben, "POST", &invite, b"").status, 403);
    let erase = serde_json::json!({ "password": PASSWORD }).to_string();
    assert_eq!(call(&ben, "POST", &format!("/api/v1/logs/{log}/erase"), erase.as_bytes()).status, 403);
    let trail = call(&anna, "GET", "/api/v1/trail", b"").json().to_string();
    assert!(trail.contains("coach_joined") && trail.contains("invitation_taken_back"), "{trail}");
    // Taken back, he neither reads nor writes.
    assert_eq!(call(&anna, "DELETE", &format!("{coaches}/{}", there[0]["account"].as_str().unwrap()), b"").status, 204);
    for records in [&[][..], &second] {
        assert_eq!(call(&ben, "POST", "/api/v1/sync", &sync(log, 0, records)).status, 404);
    }
}

#[test]
fn a_new_password_logs_the_other_browsers_out() {
    let server = start(&["anna", "ben"]);
    let addr = server.addr;
    let call = |role: &str, method: &str, path: &str, body: &str| -> Answer {
        send(addr, method, path, &format!("{JSON}{role}"), body.as_bytes()).unwrap()
    };
    let (here, there, ben) = (login(addr, "anna"), login(addr, "anna"), login(addr, "ben"));
    let phone = device(addr, &here);
    let sessions = call(&here, "GET", "/api/v1/sessions", "").json();
    let sessions = sessions.as_array().unwrap();
    assert_eq!(sessions.iter().map(|s| s["this"] == true).collect::<Vec<_>>(), [true, false]);
    // Another's session, and one's own.
    let path = format!("/api/v1/sessions/{}", sessions[1]["id"].as_str().unwrap());
    assert_eq!(call(&ben, "DELETE", &path, "").status, 404);
    assert_eq!(call(&here, "DELETE", &path, "").status, 204);
    assert_eq!(call(&there, "GET", "/api/v1/me", "").status, 401);

    let there = login(addr, "anna");
    let body = |old: &str, new: &str, end_devices: bool| {
        serde_json::json!({ "old": old, "new": new, "end_devices": end_devices }).to_string()
    };
    let set = |body: String| call(&here, "POST", "/api/v1/password", &body).status;
    assert_eq!(set(body("not the password", "a new password", true)), 403);
    assert_eq!(set(body(PASSWORD, "short", true)), 422);
    assert_eq!(call(&there, "GET", "/api/v1/me", "").status, 200, "nothing has changed");
    assert_eq!(set(body(PASSWORD, "a new password", false)), 204);
    assert_eq!(call(&here, "GET", "/api/v1/me", "").status, 200);
    assert_eq!(call(&there, "GET", "/api/v1/me", "").status, 401);
    assert_eq!(call(&phone, "GET", "/api/v1/me", "").status, 200, "devices sync on");
    assert_eq!(call(&ben, "GET", "/api/v1/me", "").status, 200);
    let old = serde_json::json!({ "name": "anna", "password": PASSWORD }).to_string();
    assert_eq!(call("", "POST", "/api/v1/login", &old).status, 401);
    let new = serde_json::json!({ "name": "anna", "password": "a new password" }).to_string();
    assert_eq!(call("", "POST", "/api/v1/login", &new).status, 204);
    assert_eq!(set(body("a new password", "and another one", true)), 204);
    assert_eq!(call(&phone, "GET", "/api/v1/me", "").status, 401, "unless they are to end");
    // The old password cannot be tried for long, and nobody is locked out.
    let tries: Vec<u16> = (0..5).map(|_| set(body("not the password", "a new password", false))).collect();
    assert_eq!(tries, [403; 5]);
    let file = server.folder.path().join("log.db");
    assert_eq!(waits_end_at(&file, NOT_YET), 1);
    assert_eq!(set(body("and another one", "a new password", false)), 429, "the right one waits too");
    waits_end_at(&file, 1);
    assert_eq!(set(body("and another one", "a new password", false)), 204, "but not for ever");
}

#[test]
fn a_second_factor_is_asked_for_once_it_is_shown_to_work() {
    let server = start(&["anna"]);
    let addr = server.addr;
    let call = |role: &str, path: &str, body: serde_json::Value| -> Answer {
        send(addr, "POST", path, &format!("{JSON}{role}"), body.to_string().as_bytes()).unwrap()
    };
    let said = |answer: &Answer| (answer.status, answer.json()["error"].as_str().unwrap_or_default().to_owned());
    let log_in = |code: Option<&str>| {
        call("", "/api/v1/login", serde_json::json!({ "name": "anna", "password": PASSWORD, "code": code }))
    };
    let anna = login(addr, "anna");
    let second = |what: &str, body| call(&anna, &format!("/api/v1/second-factor{what}"), body);
    let proof = |code: Option<&str>| serde_json::json!({ "password": PASSWORD, "code": code });
    let begun = second("", proof(None));
    assert_eq!(begun.status, 201, "{}", begun.text());
    let secret = begun.json()["secret"].as_str().unwrap().replace(' ', "");
    assert!(begun.json()["uri"].as_str().unwrap().contains(&secret));
    // The codes of a step, by the library that the server uses: its own tests hold them against RFC 6238.
    let bytes = totp_rs::Secret::Encoded(secret).to_bytes().unwrap();
    let totp = totp_rs::TOTP::new_unchecked(totp_rs::Algorithm::SHA1, 6, 1, 30, bytes, None, String::new());
    let now = || std::time::UNIX_EPOCH.elapsed().unwrap().as_secs();
    let code = |steps: u64| totp.generate(now() + 30 * steps);
    let wrong = || if code(0) == "000000" || code(1) == "000000" { "111111" } else { "000000" };

    // Not before a code has shown that the authenticator has the secret.
    assert_eq!(log_in(None).status, 204);
    assert_eq!(said(&second("/confirm", serde_json::json!({ "code": wrong() }))), (401, "wrong_code".into()));
    let first = code(0);
    let confirmed = second("/confirm", serde_json::json!({ "code": first }));
    assert_eq!(confirmed.status, 200, "{}", confirmed.text());
    let recovery: Vec<String> = serde_json::from_value(confirmed.json()["recovery_codes"].clone()).unwrap();
    assert_eq!(recovery.len(), 10);
    assert_eq!(second("/confirm", serde_json::json!({ "code": code(0) })).status, 404, "it is confirmed once");
    let me = send(addr, "GET", "/api/v1/me", &anna, b"").unwrap().json();
    assert_eq!(me["second_factor"], true);

    assert_eq!(said(&log_in(None)), (401, "code_needed".into()));
    assert_eq!(said(&log_in(Some(""))), (401, "code_needed".into()));
    assert_eq!(said(&log_in(Some(&first))), (401, "wrong_code".into()), "a code works once");
    assert_eq!(log_in(Some(&code(1))).status, 204);
    assert_eq!(log_in(Some(&recovery[0].to_uppercase())).status, 204);
    assert_eq!(log_in(Some(&recovery[0])).status, 401, "a recovery code works once");

    // The one there is cannot be changed or taken away with the password alone.
    assert_eq!(said(&second("", proof(None))), (401, "code_needed".into()));
    assert_eq!(said(&second("/remove", proof(None))), (401, "code_needed".into()));
    // A right password beside each wrong code takes no wait away.
    let file = server.folder.path().join("log.db");
    assert_eq!(log_in(Some(&recovery[1])).status, 204);
    for _ in 0..5 {
        waits_end_at(&file, 1);
        assert_eq!(said(&log_in(None)), (401, "code_needed".into()));
        waits_end_at(&file, 1);
        assert_eq!(said(&log_in(Some(wrong()))), (401, "wrong_code".into()));
    }
    assert_eq!(waits_end_at(&file, NOT_YET), 1);
    assert_eq!(log_in(Some(&recovery[2])).status, 429);
    waits_end_at(&file, 1);
    assert_eq!(second("/remove", proof(Some(&recovery[2]))).status, 204);
    assert_eq!(second("/remove", proof(None)).status, 404);
    assert_eq!(log_in(None).status, 204);
    let trail = send(addr, "GET", "/api/v1/trail", &anna, b"").unwrap().json();
    let done: Vec<&str> = trail.as_array().unwrap().iter().map(|e| e["what"].as_str().unwrap()).collect();
    for what in ["second_factor_set", "second_factor_removed", "recovery_code_used", "login_failed"] {
        assert!(done.contains(&what), "{what}: {done:?}");
    }
    // Neither the secret nor a code of the account stands in what the server tells of it.
    assert!(!trail.to_string().contains(&recovery[1]));
}

#[test]
fn a_log_that_was_erased_is_gone_for_all_who_had_it() {
    let server = start(&["anna", "ben", "carla"]);
    let addr = server.addr;
    let (anna, ben, carla) = (login(addr, "anna"), login(addr, "ben"), login(addr, "carla"));
    let phone = device(addr, &anna);
    let call = |role: &str, path: &str, body: &[u8]| -> Answer {
        send(addr, "POST", path, &format!("{JSON}{role}"), body).unwrap()
    };
    let log = Uuid::from_u128(0xA);
    let mut writer = Writer::new(log, Uuid::from_u128(1));
    let records = [note(&mut writer, 1), note(&mut writer, 2)];
    assert_eq!(call(&phone, "/api/v1/sync", &sync(log, 0, &records)).status, 200);
    let code = call(&anna, &format!("/api/v1/logs/{log}/invitations"), b"").json()["code"].clone();
    let code = serde_json::json!({ "code": code }).to_string();
    assert_eq!(call(&ben, "/api/v1/invitations/accept", code.as_bytes()).status, 200);
    let erase = serde_json::json!({ "password": PASSWORD }).to_string();
    assert_eq!(call(&anna, &format!("/api/v1/logs/{log}/erase"), erase.as_bytes()).status, 204);
    // Her other device and her coach are told, and what they have does not make it anew.
    for role in [&phone, &anna, &ben] {
        for sent in [&[][..], &records] {
            let answer = call(role, "/api/v1/sync", &sync(log, 0, sent));
            assert_eq!((answer.status, answer.json()["error"].as_str()), (410, Some("erased")), "{}", answer.text());
        }
    }
    assert_eq!(call(&carla, "/api/v1/sync", &sync(log, 0, &[])).status, 404, "to others it never was");
    let listed = send(addr, "GET", "/api/v1/logs", &anna, b"").unwrap().json();
    assert_eq!(listed, serde_json::json!([]));
    // An erased account leaves nothing: its devices are strangers.
    assert_eq!(call(&anna, "/api/v1/account/erase", erase.as_bytes()).status, 204);
    assert_eq!(call(&phone, "/api/v1/sync", &sync(log, 0, &records)).status, 401);
}

#[test]
fn passwords_cannot_be_tried_for_long() {
    let server = start(&["anna"]);
    let wrong = b"{\"name\":\"anna\",\"password\":\"wrong wrong\"}";
    let statuses: Vec<u16> =
        (0..5).map(|_| send(server.addr, "POST", "/api/v1/login", JSON, wrong).unwrap().status).collect();
    assert_eq!(statuses, [401; 5]);
    let file = server.folder.path().join("log.db");
    assert_eq!(waits_end_at(&file, NOT_YET), 1);
    let body = serde_json::json!({ "name": "anna", "password": PASSWORD }).to_string();
    let login = || send(server.addr, "POST", "/api/v1/login", JSON, body.as_bytes()).unwrap();
    let answer = login();
    assert_eq!(answer.status, 429, "the right password waits too");
    assert!(answer.header("retry-after").is_some());
    waits_end_at(&file, 1);
    assert_eq!(login().status, 204, "nobody is locked out");
}

#[test]
fn on_loopback_nobody_needs_an_account_and_elsewhere_it_does_not_start() {
    let server = start(&[]);
    let log = Uuid::from_u128(0xA);
    let mut writer = Writer::new(log, Uuid::from_u128(1));
    let records = [note(&mut writer, 1), note(&mut writer, 2)];
    for accepted in [2, 0] {
        let answer = send(server.addr, "POST", "/api/v1/sync", JSON, &sync(log, 0, &records)).unwrap();
        assert_eq!((answer.status, answer.json()["accepted"].as_u64()), (200, Some(accepted)));
    }
    let answer = send(server.addr, "GET", &format!("/api/v1/logs/{log}/export"), "", b"").unwrap();
    let back = goldward_journal::jsonl::read(answer.text()).unwrap();
    assert_eq!(back, goldward_journal::Log::from_records(records));
    // A name of someone else's that points here, and a form of another site.
    let answer = send(server.addr, "GET", "/api/v1/logs", "Host: evil.example\r\n", b"").unwrap();
    assert_ne!(answer.status, 200);
    let answer = send(server.addr, "POST", "/api/v1/sync", "Content-Type: text/plain\r\n", &sync(log, 0, &[])).unwrap();
    assert_eq!(answer.status, 422);
    for nonsense in [b"".as_slice(), b"{", b"[]", b"{\"schema\":1}", b"\xff\xfe"] {
        assert_eq!(send(server.addr, "POST", "/api/v1/sync", JSON, nonsense).unwrap().status, 422);
    }
    // The app: types, caches, compressed forms, and its own addresses.
    let wasm = send(server.addr, "GET", "/app-0123456789ab.wasm", "Accept-Encoding: gzip, br\r\n", b"").unwrap();
    assert_eq!((wasm.header("content-type"), wasm.header("content-encoding")), (Some("application/wasm"), Some("br")));
    assert_eq!(wasm.body, b"squeezed");
    assert!(wasm.header("cache-control").unwrap().contains("immutable"));
    assert_eq!(send(server.addr, "GET", "/app-0123456789ab.wasm", "", b"").unwrap().body, b"plain");
    let page = send(server.addr, "GET", "/session/7", "", b"").unwrap();
    assert_eq!((page.status, page.header("cache-control")), (200, Some("no-cache")));
    assert_eq!(send(server.addr, "GET", "/missing.js", "", b"").unwrap().status, 404);
    assert_eq!(send(server.addr, "GET", "/../log.db", "", b"").unwrap().status, 404);
    assert_eq!(send(server.addr, "GET", "/api/v1/none", "", b"").unwrap().status, 404);
    assert!(!send(server.addr, "GET", "/metrics", "", b"").unwrap().text().contains("goldward_"), "elsewhere");
    let metrics = send(server.metrics, "GET", "/metrics", "", b"").unwrap();
    assert!(metrics.text().contains("goldward_records_accepted_total 2"), "{}", metrics.text());

    let folder = tempfile::tempdir().unwrap();
    let refused = server.runtime.block_on(async {
        let store = Store::open(&Place::File(folder.path().join("log.db"))).await.unwrap();
        let mut proxied = Config::new("127.0.0.1:0".parse().unwrap());
        proxied.trusted_proxies = vec!["127.0.0.1/32".parse().unwrap()];
        let mut https = Config::new("127.0.0.1:0".parse().unwrap());
        https.https = true;
        let mut all = Vec::new();
        for config in [Config::new("0.0.0.0:0".parse().unwrap()), https, proxied] {
            all.push(prepare(store.clone(), &config).await.map(|_| ()));
        }
        all
    });
    assert!(refused.iter().all(|r| matches!(r, Err(ServeError::NoAccounts(_)))), "{refused:?}");
}
