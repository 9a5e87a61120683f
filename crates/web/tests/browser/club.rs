//! An evening of a club, by hand: a secretary, two archers, a coach, one shared tablet, one lost phone, a proxy, and two servers on one
//! PostgreSQL behind it that take turns. At the end every log is whole, with its owner, and seen only by who may.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::access::usable;
use crate::account::{PASSWORD, accounts, invite, sign_in, signed_in};
use crate::browser::Profile;
use crate::engine::Engine;
use crate::nginx::Nginx;
use crate::scenarios;
use crate::server::fresh_port;
use crate::stage::Stage;
use crate::sync::{Goldward, goldward};
use crate::tab::Tab;
use crate::{DESK, PHONE, start_session};

#[path = "../../../store/tests/common/postgres.rs"]
mod postgres;

scenarios!(
    an_evening_of_the_club in &[Engine::Chromium],
    what_a_club_has_fits_a_small_phone_in_three_languages in &[Engine::Chromium],
);

/// nginx before these servers, in turn, with the headers of docs/club.md; nothing, and a loud line, when the machine has none.
fn proxy(folder: &Profile, port: u16, servers: [u16; 2]) -> Option<Nginx> {
    let document = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/club.md");
    let document = std::fs::read_to_string(document).expect("the document");
    let recipe = document.split("```nginx\n").nth(1).expect("a recipe").split("```").next().expect("its end");
    let server: String = recipe
        .replace("listen 443 ssl;", &format!("listen 127.0.0.1:{port};"))
        .replace("http://127.0.0.1:8017", "http://club")
        .lines()
        .filter(|l| !l.trim_start().starts_with("ssl_"))
        .map(|l| format!("{l}\n"))
        .collect();
    let [one, two] = servers;
    let club = format!("upstream club {{ server 127.0.0.1:{one}; server 127.0.0.1:{two}; }}\n{server}");
    Nginx::start(&folder.0, port, &format!("access_log off;\n{club}"))
}

/// Names an archer and shoots so many arrows of a new session, the `first` one that far to the right, each next one 10 mm more.
async fn shoots(tab: &Tab, name: &str, first: f64, arrows: u32) {
    tab.go("archers").await;
    tab.fill("#archer-name", name).await;
    tab.tap("#save-archer").await;
    tab.go("shoot").await;
    start_session(tab, false).await;
    for n in 0..arrows {
        tab.shoot(first + 10.0 * f64::from(n), 0.0, 610.0).await;
    }
    tab.saved().await;
}

async fn in_step(tab: &Tab) {
    tab.go("settings").await;
    tab.tap("#sync").await;
    tab.until("document.querySelector('#standing').innerText.startsWith('In step')").await;
}

async fn sign_out(tab: &Tab, how: &str) {
    in_step(tab).await;
    tab.go("account").await;
    tab.tap(".sign-out").await;
    tab.until("document.querySelector('#account .notice')?.innerText.length").await;
    tab.tap(how).await;
    tab.wait_for("#login-name").await;
}

/// Whose logs the device says it has.
async fn here(tab: &Tab) -> String {
    tab.go("account").await;
    tab.wait_for("#logs-here li").await;
    tab.text("#logs-here").await
}

async fn an_evening_of_the_club(stage: Stage) {
    let Some(database) = postgres::Postgres::start() else { return };
    let folder = Profile::fresh();
    let db = database.address();
    // The secretary.
    accounts(&db, &["anna", "ben", "carla"]);
    goldward(&db, &["accounts", "manager", "carla"], "");
    let ports = [fresh_port(), fresh_port()];
    let behind = ["--trusted-proxy", "127.0.0.1"];
    let [one, two] = ports.map(|port| Goldward::on(&db, &format!("127.0.0.1:{port}"), &behind));
    let port = fresh_port();
    let Some(_proxy) = proxy(&folder, port, ports) else { return };
    let club = format!("http://127.0.0.1:{port}/");

    // The tablet, before anybody has signed in: a guest shoots.
    let tablet = stage.tab("club-tablet", &club, DESK).await;
    tablet.ready().await;
    shoots(&tablet, "Guest", 0.0, 1).await;

    // Anna's phone, and her coach, by the link.
    let anna = stage.tab("club-anna", &club, PHONE).await;
    anna.ready().await;
    sign_in(&anna, "Anna", PASSWORD).await;
    signed_in(&anna, "anna").await;
    shoots(&anna, "Anna", -200.0, 3).await;
    in_step(&anna).await;
    let link = invite(&anna, ".invite").await;
    let carla = stage.tab("club-coach", &link, DESK).await;
    carla.ready().await;
    sign_in_here(&carla, "carla").await;
    signed_in(&carla, "carla").await;
    carla.tap("#accept-now").await;
    carla.until("document.querySelector('#logs-here li')?.innerText.includes('you read it')").await;
    carla.go("shoot").await;
    carla.tap("#reading .session").await;
    carla.until("document.querySelectorAll('#reading-sheet path.shot').length === 3").await;

    // The coach puts her into a group and writes to her; she finds both nowhere but where they belong.
    carla.go("archers").await;
    carla.tap(".people .beside").await;
    carla.fill("#groups", "juniors, Tuesday").await;
    carla.tap("#group-save").await;
    carla.fill("#note", "Keep the gold\nin <b>view</b>").await;
    carla.tap("#note-send").await;
    carla.until("document.querySelector('#notes .unread')?.innerText.includes('in <b>view</b>')").await;
    carla.whole("desk-club-beside").await;
    carla.go("archers").await;
    carla.until("document.querySelector('.people small')?.innerText === 'juniors, Tuesday'").await;
    carla.tap_nth(".groups .group", 1).await;
    carla.until("document.querySelectorAll('.groups [aria-pressed=true]').length === 1").await;
    carla.picture("desk-club-groups").await;
    // The groups are there without a network, and after a start.
    carla.reload().await;
    carla.until("document.querySelectorAll('.groups .group').length === 2").await;
    anna.wait_for(".top .who.news").await;
    anna.go("archers").await;
    anna.check(!anna.text(".people").await.contains("juniors"), "a coach's words are the coach's").await;
    anna.tap(".people .beside.news").await;
    anna.wait_for("#notes .unread").await;
    usable(&anna, "groups and notes").await;
    anna.whole("phone-club-note").await;
    anna.tap(".note-read").await;
    anna.until("document.querySelector('#notes li') && !document.querySelector('.unread, .who.news')").await;
    anna.go("account").await;
    anna.until("document.querySelector('.coaches li')?.innerText.includes('last read')").await;

    // Newcomers come by a link, one of them under age; then it is off.
    carla.go("account").await;
    carla.tap(".way-open").await;
    carla.wait_for("#newcomers .handed .link a").await;
    usable(&carla, "newcomers").await;
    carla.whole("desk-club-newcomers").await;
    let link = carla.text("#newcomers .link").await;
    let dora = stage.tab("club-dora", &link, PHONE).await;
    dora.ready().await;
    dora.wait_for("#join-name").await;
    usable(&dora, "an account of one's own").await;
    dora.whole("phone-club-join").await;
    dora.type_in("#join-name", "ANNA").await;
    dora.type_in("#join-password", PASSWORD).await;
    dora.tap("[name=join-minor]").await;
    dora.tap("#join-now").await;
    dora.until("document.querySelector('#join .wrong')?.innerText.startsWith('This name is taken')").await;
    dora.fill("#join-name", "Dora").await;
    dora.tap("#join-now").await;
    signed_in(&dora, "Dora").await;
    dora.check(dora.js("location.hash").await == "#/account", "the code is gone from the address").await;
    dora.until("document.querySelector('#account').innerText.includes('until the club has named')").await;
    carla.tap(".way-close").await;
    carla.until("document.querySelector('#newcomers')?.innerText.includes('by themselves')").await;
    let late = stage.tab("club-late", &link, PHONE).await;
    late.ready().await;
    late.wait_for("#join-name").await;
    late.fill("#join-name", "Emil").await;
    late.fill("#join-password", PASSWORD).await;
    late.tap("#join-now").await;
    late.until("document.querySelector('#join .wrong')?.innerText.startsWith('This link is off')").await;
    drop(late);

    // Anna answers for Dora, and agrees before the coach sees anything.
    carla.go("settings").await;
    carla.go("account").await;
    carla.wait_for("[id^=of-guardian-]").await;
    carla.type_in("[id^=of-guardian-]", "carla").await;
    carla.tap("[id^=name-guardian-]").await;
    carla.until("document.querySelector('#newcomers .wrong')?.innerText.startsWith('A guardian has an account')").await;
    usable(&carla, "naming a guardian").await;
    carla.whole("desk-club-guardian").await;
    carla.type_in("[id^=of-guardian-]", "Anna").await;
    carla.tap("[id^=name-guardian-]").await;
    carla.until("!document.querySelector('[id^=of-guardian-]')").await;
    shoots(&dora, "Dora", 0.0, 1).await;
    in_step(&dora).await;
    let link = invite(&dora, ".invite").await;
    let code = link.rsplit('/').next().expect("its code").to_owned();
    carla.fill("#accept-code", &code).await;
    carla.tap("#accept-now").await;
    carla.until("document.querySelector('#accepted')?.innerText.includes('under age')").await;
    anna.go("settings").await;
    anna.go("account").await;
    anna.wait_for(".coaches .agree").await;
    anna.whole("phone-club-guardian").await;
    anna.tap(".agree").await;
    anna.until("!document.querySelector('.agree')").await;
    carla.until("document.querySelector('#logs-here')?.innerText.includes('Dora')").await;
    carla.go("shoot").await;
    carla.until("document.querySelectorAll('#reading-sheet path.shot').length === 3").await;

    // Anna on the tablet: the guest's log is not hers, and hers is there.
    sign_in(&tablet, "anna", PASSWORD).await;
    tablet.until("document.querySelector('#claim')?.innerText === 'None of them is mine'").await;
    tablet.picture("desk-club-claim").await;
    tablet.tap("#claim").await;
    signed_in(&tablet, "anna").await;
    tablet.until("document.querySelector('#logs-here')?.innerText.includes('Anna')").await;
    let told = here(&tablet).await;
    tablet.check(!told.contains("Guest"), &told).await;
    tablet.go("shoot").await;
    tablet.tap(".session").await;
    tablet.wait_for("svg.face").await;
    tablet.shoot(100.0, 0.0, 610.0).await;
    carla.until("document.querySelectorAll('#reading-sheet path.shot').length === 4").await;
    sign_out(&tablet, ".sign-out-wipe").await;
    let told = here(&tablet).await;
    tablet.check(told.contains("Guest") && !told.contains("Anna"), &told).await;

    // Ben on the tablet after her; his own log stays there for the next time.
    sign_in(&tablet, "ben", PASSWORD).await;
    tablet.tap("#claim").await;
    signed_in(&tablet, "ben").await;
    shoots(&tablet, "Ben", 300.0, 2).await;

    // Ben's phone has his log, shoots on, and is lost: it is ended from the tablet.
    let phone = stage.tab("club-lost", &club, PHONE).await;
    phone.ready().await;
    in_step(&tablet).await;
    sign_in(&phone, "ben", PASSWORD).await;
    signed_in(&phone, "ben").await;
    phone.until("document.querySelector('#logs-here')?.innerText.includes('Ben')").await;
    phone.go("shoot").await;
    phone.tap(".session").await;
    phone.wait_for("svg.face").await;
    phone.shoot(-300.0, 0.0, 610.0).await;
    in_step(&phone).await;
    tablet.go("account").await;
    tablet.tap(".end-it").await;
    tablet.tap(".end-it").await;
    tablet.until("document.querySelectorAll('#sessions li').length === 1").await;
    // Whoever has found it shoots on it; nothing of that goes anywhere, nor is it lost.
    phone.go("shoot").await;
    phone.wait_for("svg.face").await;
    phone.shoot(0.0, 300.0, 610.0).await;
    phone.until("document.querySelector('.line .saving')?.innerText === 'Saved here, signed out'").await;
    phone.picture("phone-club-signed-out").await;
    phone.go("settings").await;
    phone.until("document.querySelector('#standing')?.innerText.includes('wants a name')").await;

    // One of the servers dies in the midst of it.
    drop(two);
    anna.go("shoot").await;
    anna.wait_for("svg.face").await;
    anna.shoot(0.0, 200.0, 610.0).await;
    carla.until("document.querySelectorAll('#reading-sheet path.shot').length === 5").await;
    sign_out(&tablet, ".sign-out-keep").await;

    // What anna gave is taken back; her next arrow is hers alone.
    anna.go("account").await;
    anna.until("[...document.querySelectorAll('.coaches li')].some(e => e.innerText.startsWith('carla reads it'))")
        .await;
    anna.tap(".take-back").await;
    anna.tap(".take-back").await;
    anna.until("document.querySelector('.coaches li')?.innerText === 'Nobody else sees it.'").await;
    anna.go("shoot").await;
    anna.wait_for("svg.face").await;
    anna.shoot(0.0, -200.0, 610.0).await;
    in_step(&anna).await;
    carla.go("settings").await;
    carla.tap("#sync").await;
    carla.until("document.querySelector('#not-in-step')?.innerText.includes('you may no longer read it')").await;
    let seen = carla.js("(async () => { const r = await fetch('./api/v1/logs'); return r.json(); })()").await;
    carla.check(seen.as_array().is_some_and(|l| l.len() == 1), &seen.to_string()).await;
    drop(one);

    // The secretary looks: every log whole, with its owner, and nothing of anybody else.
    let kept: BTreeMap<&str, Value> = ["anna", "ben", "carla", "dora"]
        .into_iter()
        .map(|name| (name, serde_json::from_str(&goldward(&db, &["accounts", "export", name], "")).expect("JSON")))
        .collect();
    let shots = |of: &str| -> Vec<i64> {
        let logs = kept[of]["logs"].as_array().expect("its logs");
        let records = logs.iter().flat_map(|l| l["records"].as_array().expect("its records"));
        let mut at: Vec<i64> = records
            .filter_map(|r| r["body"]["shot"]["x_mm"].as_f64())
            .map(|x| (x / 10.0).round() as i64 * 10)
            .collect();
        at.sort_unstable();
        at
    };
    assert_eq!(shots("anna").len(), 6, "{:?}", shots("anna"));
    assert_eq!(shots("ben").len(), 3, "{:?}", shots("ben"));
    assert_eq!(kept["carla"]["logs"], serde_json::json!([]));
    let archers = |list: &str| -> Vec<Value> {
        kept["carla"][list].as_array().expect("a list").iter().map(|c| c["archer"].clone()).collect()
    };
    let dora: Vec<Value> =
        kept["dora"]["logs"].as_array().expect("her logs").iter().map(|l| l["archer"].clone()).collect();
    assert_eq!((archers("coaches_of"), archers("roster")), (dora, Vec::new()), "the words went with the right to read");
    assert_eq!((kept["dora"]["account"]["minor"].as_bool(), shots("dora").len()), (Some(true), 1));
    let listed = goldward(&db, &["accounts", "list"], "");
    assert!(!listed.contains("Guest"), "{listed}");
    // And the guest's is still on the tablet, Ben's not to be seen.
    let told = here(&tablet).await;
    tablet.check(told.contains("Guest") && told.contains("ben signed out") && !told.contains("Ben"), &told).await;
}

/// Signs in where the form is already.
async fn sign_in_here(tab: &Tab, name: &str) {
    tab.wait_for("#login-name").await;
    tab.type_in("#login-name", name).await;
    tab.type_in("#login-password", PASSWORD).await;
    tab.keys(&["\u{e007}"]).await;
}

/// The forms of who comes, the page of who looks after the club, with a link and somebody under age, and what lies beside a log.
async fn what_a_club_has_fits_a_small_phone_in_three_languages(stage: Stage) {
    let folder = Profile::fresh();
    let db = folder.0.join("goldward.db").display().to_string();
    accounts(&db, &["olga", "theodora-alexandra", "paula"]);
    goldward(&db, &["accounts", "manager", "olga"], "");
    goldward(&db, &["accounts", "guardian", "theodora-alexandra"], "");
    let club = Goldward::on(&db, "127.0.0.1:0", &[]);
    let tab = stage.tab("club-small", &club.url, (320, 568)).await;
    tab.ready().await;
    let speaks = async |n: usize| {
        tab.go("settings").await;
        tab.tap_nth("input[name=language]", n).await;
    };
    let looked = async |n: usize, what: &str| {
        let language = ["en", "de", "fr"][n];
        usable(&tab, &format!("{what} in {language}")).await;
        tab.whole(&format!("small-club-{what}-{language}")).await;
    };
    for n in [1, 2, 0] {
        speaks(n).await;
        tab.go("account").await;
        tab.wait_for("#with-account[open] #login-name").await;
        looked(n, "sign-in").await;
        tab.tap("#join summary").await;
        tab.until("!document.querySelector('#with-account').open").await;
        looked(n, "join").await;
    }
    tab.tap("#with-account summary").await;
    sign_in(&tab, "olga", PASSWORD).await;
    signed_in(&tab, "olga").await;
    shoots(&tab, "Olga", 0.0, 1).await;
    in_step(&tab).await;
    tab.go("account").await;
    tab.tap(".way-open").await;
    for n in [1, 2, 0] {
        speaks(n).await;
        tab.go("account").await;
        tab.wait_for("[id^=of-guardian-]").await;
        tab.wait_for(".coaches li").await;
        tab.tap(".invite").await;
        tab.wait_for(".handed .link a").await;
        looked(n, "account").await;
        tab.go("archers").await;
        tab.tap(".people .beside").await;
        tab.wait_for("#notes li").await;
        looked(n, "beside").await;
    }
}
