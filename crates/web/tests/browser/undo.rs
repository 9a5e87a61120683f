//! Every act that writes into the log can be taken back where it was done, and done again.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::server::Server;
use crate::shooting::lines;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{PHONE, unfold};

crate::scenarios! {
    every_act_is_taken_back_and_done_again,
    what_could_be_taken_back_does_not_follow_into_a_session,
}

/// What a hand does for one act.
enum Do {
    Tap(&'static str),
    Nth(&'static str, usize),
    Fill(&'static str, &'static str),
    Choose(&'static str, &'static str),
    Shoot(f64, f64),
    Go(&'static str),
    Unfold,
    /// The half second after which what is typed is written.
    Rest,
}

use Do::{Choose, Fill, Go, Nth, Rest, Shoot, Tap, Unfold};

/// Each act: its name, how the hand gets there, what it does, and the button that takes it back.
const ACTS: &[(&str, &[Do], &[Do], &str)] = &[
    ("the invented archer", &[], &[Tap("#try-demo")], "#toast-undo"),
    ("a kit is new", &[Go("kit"), Tap("#new-kit"), Fill("#k-name", "Bow")], &[Tap("#save-kit")], "#toast-undo"),
    ("a kit is changed", &[Tap(".session"), Fill("#k-eye", "90cm")], &[Tap("#save-kit")], "#toast-undo"),
    (
        "arrows are named",
        &[Tap(".session"), Fill("#k-arrows", "1 2 3")],
        &[Tap("[data-act=add-arrows]")],
        "#toast-undo",
    ),
    ("an arrow is retired", &[], &[Tap("[data-act=retire]")], "#toast-undo"),
    (
        "a mark is new",
        &[Go("marks"), Fill("#mark-distance", "30"), Fill("#mark-reading", "51")],
        &[Tap("#add-mark")],
        "#toast-undo",
    ),
    ("a mark is deleted", &[], &[Tap("td .writes")], "#toast-undo"),
    (
        "an archer is changed",
        &[Go("archers"), Tap(".people .edit"), Fill("#archer-name", "Alder")],
        &[Tap("#save-archer")],
        "#toast-undo",
    ),
    ("an archer is new", &[Fill("#archer-name", "Wren")], &[Tap("#save-archer")], "#toast-undo"),
    (
        "a session is begun",
        &[Go("shoot"), Choose("#face", "122"), Fill("#distance", "70"), Unfold, Fill("#reading", "50")],
        &[Tap("#start")],
        "#undo",
    ),
    ("an arrow is plotted", &[], &[Shoot(-180.0, 150.0)], "#undo"),
    ("an arrow is moved", &[Tap(".chip")], &[Shoot(100.0, -150.0)], "#undo"),
    ("an arrow goes to another ring", &[Tap(".chip")], &[Tap(".few.rings button")], "#undo"),
    ("an arrow felt good", &[], &[Tap("#good")], "#undo"),
    ("an arrow has a number", &[], &[Nth(".few.arrows button", 1)], "#undo"),
    ("an arrow is called", &[Tap("#close"), Tap("#mode"), Tap("[data-ring='8']")], &[Tap(".hub")], "#undo"),
    ("an arrow is deleted", &[Tap("#mode"), Tap(".chip")], &[Tap("#delete")], "#undo"),
    ("the sight is moved", &[Tap("#other"), Tap(".key-up")], &[Tap("#record-touch")], "#undo"),
    ("an arrow after the move", &[], &[Shoot(20.0, 20.0)], "#undo"),
    ("a reading is kept as a mark", &[Tap("#sight")], &[Tap("#keep-mark")], "#undo"),
    (
        "a click is measured",
        &[Tap(".tell .head button"), Tap("#set-click"), Fill("#measured", "2")],
        &[Tap("#save-measured")],
        "#undo",
    ),
    ("an end is over", &[], &[Tap("#end")], "#undo"),
    (
        "a session is changed",
        &[Tap(".leave"), Tap("button.edit"), Fill("#distance", "60")],
        &[Tap("#save-session")],
        "#toast-undo",
    ),
    ("the wind is told", &[Tap("button.edit"), Tap(".remarks summary")], &[Choose("#wind", "some")], "#toast-undo"),
    ("a remark is written", &[], &[Fill("#remark", "Cold hands"), Rest], "#toast-undo"),
    ("a session is deleted", &[Tap("#delete-session")], &[Tap("#delete-session-now")], "#toast-undo"),
    ("a kit is deleted", &[Go("kit"), Tap(".session")], &[Nth(".dock button", 1)], "#toast-undo"),
];

async fn play(tab: &Tab, acts: &[Do]) {
    for act in acts {
        match act {
            Tap(what) => tab.tap(what).await,
            Nth(what, n) => tab.tap_nth(what, *n).await,
            Fill(what, value) => tab.fill(what, value).await,
            Choose(what, value) => {
                tab.choose(what, value).await;
                tab.fill(what, value).await;
            }
            Shoot(x, y) => {
                tab.wait_for("svg.face").await;
                tab.shoot(*x, *y, 610.0).await;
            }
            Go(screen) => tab.go(screen).await,
            Unfold => unfold(tab).await,
            Rest => tokio::time::sleep(std::time::Duration::from_secs(1)).await,
        }
    }
    tab.settle().await;
}

/// What the log says: the bodies of what is not deleted.
async fn says(tab: &Tab) -> BTreeMap<String, Value> {
    let records = lines(tab).await.into_iter().filter_map(|line| serde_json::from_str::<Value>(&line).ok());
    records.filter(|r| r["body"].get("deleted").is_none()).map(|r| (r["id"].to_string(), r["body"].clone())).collect()
}

async fn every_act_is_taken_back_and_done_again(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("undo", &server.url(), PHONE).await;
    tab.ready().await;
    for (name, there, act, undo) in ACTS {
        play(&tab, there).await;
        let before = says(&tab).await;
        play(&tab, act).await;
        let after = says(&tab).await;
        tab.check(after != before, &format!("{name}: something is written")).await;
        tab.tap(undo).await;
        let back = says(&tab).await;
        let differs: Vec<_> = before.iter().filter(|(k, v)| back.get(*k) != Some(v)).collect();
        tab.check(back == before, &format!("{name} is taken back: {} of {}, {differs:?}", back.len(), before.len()))
            .await;
        // Where the button for it stands; what left the line or was done elsewhere is offered in passing.
        let on_line = tab.js("!!document.querySelector('#redo')").await == true;
        tab.tap(if on_line { "#redo" } else { "#toast-undo" }).await;
        let again = says(&tab).await;
        tab.check(again == after, &format!("{name} is done again")).await;
    }
}

async fn what_could_be_taken_back_does_not_follow_into_a_session(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("undo-apart", &server.url(), PHONE).await;
    crate::start_session(&tab, false).await;
    tab.shoot(40.0, 40.0, 610.0).await;
    tab.tap(".leave").await;
    play(&tab, &[Go("kit"), Tap(".session"), Fill("#k-eye", "90cm"), Tap("#save-kit"), Go("shoot")]).await;
    let before = says(&tab).await;
    tab.wait_for("#toast-undo").await;
    play(&tab, &[Tap(".session")]).await;
    tab.check(tab.js("!document.querySelector('#toast-undo')").await == true, "no word of an act before").await;
    tab.check(says(&tab).await == before, "nor is anything of the session lost").await;
}
