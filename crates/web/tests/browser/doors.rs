//! What is tapped into the app gets the answer that the program gives to the same log, word for word and digit for digit.

use std::process::Command;

use goldward_core::random::Random;

use crate::analysis::Book;
use crate::browser::Profile;
use crate::scenarios;
use crate::server::Server;
use crate::shooting::{lines, records};
use crate::stage::Stage;
use crate::sync::program;
use crate::tab::Tab;
use crate::{PHONE, start_session};

scenarios!(
    places_and_calls_are_answered_as_by_the_program,
    calls_alone_are_answered_as_by_the_program,
    sight_marks_are_told_as_by_the_program,
    rounds_are_rehearsed_as_by_the_program,
);

/// One line with single spaces, as both doors' lines are compared.
fn line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What the program prints when it is asked with `words` about the log that the app has stored, and that log.
async fn program_says(tab: &Tab, words: &[&str]) -> (String, String) {
    let log = format!("{{\"format\":\"goldward-log\",\"schema\":1}}\n{}\n", lines(tab).await.join("\n"));
    let folder = Profile::fresh();
    let file = folder.0.join("log.jsonl");
    std::fs::write(&file, &log).expect("the log");
    let mut command = Command::new(program());
    command.args(words).args(["--language", "en", "--log"]).arg(&file);
    let out = command.output().expect("the program");
    let told = String::from_utf8_lossy(&out.stdout).into_owned();
    tab.check(out.status.success(), &format!("{words:?}: {told}{}", String::from_utf8_lossy(&out.stderr))).await;
    (line(&told), log)
}

/// What stands in the parts of the page that `selector` names, a line each.
async fn shown(tab: &Tab, selector: &str) -> Vec<String> {
    // Cells of a row stand apart, as they do on a terminal.
    let text = "e => e.cells ? [...e.cells].map(c => c.textContent).join(' ') : e.textContent";
    let said = tab.js(&format!("[...document.querySelectorAll({selector:?})].map({text})")).await;
    said.as_array().into_iter().flatten().map(|t| line(t.as_str().unwrap_or_default())).collect()
}

/// Everything that the app says in the parts named stands in what the program says to `words`.
async fn told_alike(tab: &Tab, selector: &str, words: &[&str]) -> Vec<String> {
    let said = shown(tab, selector).await;
    let (told, log) = program_says(tab, words).await;
    // The dash and the word of a caution stand before what the program lists.
    let missing: Vec<&String> = said.iter().filter(|s| !told.contains(s.trim_end_matches('.'))).collect();
    tab.check(missing.is_empty(), &format!("only the app says {missing:#?}\n{words:?} says {told}\nof the log\n{log}"))
        .await;
    said
}

async fn same(tab: &Tab) {
    tab.tap("#explain").await;
    tab.wait_for(".causes").await;
    let page = ".page > h2:first-child, .page > div:not(.buttons) > p, #numbers > div > p";
    let said = told_alike(tab, page, &["read", "--session", "latest"]).await;
    tab.check(said.len() > 8, &format!("the app says little: {said:#?}")).await;
    tab.tap("#back").await;
    tab.wait_for("#explain").await;
}

async fn places_and_calls_are_answered_as_by_the_program(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("doors", &server.url(), PHONE).await;
    start_session(&tab, true).await;
    let mut random = Random::stream(0xd005, 1);
    let mut shoot = async |n: usize, about: (f64, f64)| {
        for _ in 0..n {
            let (x, y) = random.normal_pair();
            tab.shoot(about.0 + 60.0 * x, about.1 + 90.0 * y, 610.0).await;
        }
    };
    shoot(6, (-180.0, 120.0)).await;
    same(&tab).await;
    tab.until("document.querySelector('.answer').dataset.state === 'touch'").await;
    tab.tap("#done").await;
    shoot(2, (20.0, -10.0)).await;
    tab.tap("#mode").await;
    tab.tap("[data-ring='7']").await;
    tab.tap("[data-hour='10']").await;
    let shots = records(&tab, "shot").await.len();
    tab.check(shots == 9, &format!("{shots} shots")).await;
    same(&tab).await;
}

async fn calls_alone_are_answered_as_by_the_program(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("doors-calls", &server.url(), PHONE).await;
    start_session(&tab, false).await;
    tab.tap("#mode").await;
    for (ring, hour) in [("6", "7"), ("8", "8"), ("M", "7"), ("7", "6")] {
        tab.tap(&format!("[data-ring='{ring}']")).await;
        tab.tap(&format!("[data-hour='{hour}']")).await;
    }
    same(&tab).await;
}

/// The season of an archer with marks at four distances, in the app.
async fn season(stage: &Stage, name: &str) -> (Server, Tab) {
    let server = Server::start();
    let tab = stage.tab(name, &server.url(), PHONE).await;
    Book::season().import(&tab).await;
    (server, tab)
}

async fn sight_marks_are_told_as_by_the_program(stage: Stage) {
    let (_server, tab) = season(&stage, "doors-marks").await;
    let usual = "10,18,20,25,30,40,50,60,70,90";
    for more in 0..2 {
        if more == 1 {
            // A mark that is told in the app, and does not go with the others.
            for (field, text) in [("distance", "60"), ("reading", "79.5"), ("arrows", "12")] {
                tab.fill(&format!("#mark-{field}"), text).await;
            }
            tab.tap("#add-mark").await;
            tab.until("document.querySelector('#predicted .notice')?.textContent.includes('60 m')").await;
        }
        tab.go("marks").await;
        tab.wait_for("#predicted tr").await;
        let said = told_alike(&tab, "#predicted p, #predicted tr", &["marks", "predict", "--at", usual]).await;
        tab.check(said.len() > 12, &format!("the app says little: {said:#?}")).await;
    }
    tab.saved().await;
    tab.go("aids").await;
    tab.wait_for("#said .told-answer").await;
    tab.fill("#aid-distance", "50").await;
    tab.fill("#wind", "4").await;
    tab.fill("#slope", "-12.5").await;
    tab.fill("#high", "610").await;
    tab.until("document.querySelectorAll('#said h2').length === 3").await;
    // From three o'clock a wind blows to the left; the program says more than a phone has room for.
    let heads = shown(&tab, "#said h2").await;
    let after = |n: usize| format!("#said h2:nth-of-type({n}) ~ p:not(h2:nth-of-type({}) ~ p)", n + 1);
    let asked: [&[&str]; 3] = [
        &["marks", "wind", "--distance", "50", "--cross", "-4"],
        &["marks", "slope", "--distance", "50", "--angle", "-12.5"],
        &["marks", "wrong", "--distance", "50", "--offset-mm", "610", "--sd-mm", "25"],
    ];
    for (i, words) in asked.iter().enumerate() {
        let said = told_alike(&tab, &after(i + 1), words).await;
        tab.check(!said.is_empty(), &format!("nothing stands under {}", heads[i])).await;
    }
}

async fn rounds_are_rehearsed_as_by_the_program(stage: Stage) {
    let (_server, tab) = season(&stage, "doors-pacing").await;
    tab.go("pacing").await;
    tab.tap("details.rest summary").await;
    // As the form has them from the log, and as somebody has typed them.
    for typed in [None, Some(["3", "120", "5", "0"])] {
        let mut told = Vec::new();
        for (i, field) in ["spread", "first", "flyers", "drift"].iter().enumerate() {
            if let Some(typed) = typed {
                tab.fill(&format!("#p-{field}"), typed[i]).await;
            }
            let text = tab.js(&format!("document.querySelector('#p-{field}').value")).await;
            told.push(text.as_str().unwrap_or_default().to_owned());
        }
        let [spread, first, flyers, drift] = [0, 1, 2, 3].map(|i| told[i].parse::<f64>().unwrap_or(f64::NAN));
        tab.js("document.querySelector('#outcomes > *')?.setAttribute('data-old', '')").await;
        tab.tap("#rehearse").await;
        tab.until("document.querySelector('#outcomes tr') && !document.querySelector('#outcomes [data-old]')").await;
        let [spread, first] = [format!("{spread}mrad"), format!("{first}mm")];
        // The app asks for millimetres on the face, and the season ends at 70 m.
        let [flyers, drift] = [format!("{flyers}%"), format!("{}mrad", drift / 70.0)];
        let (spread, first, flyers, drift) = (spread.as_str(), first.as_str(), flyers.as_str(), drift.as_str());
        let words =
            ["pace", "--rounds", "400", "--spread", spread, "--offset", first, "--flyers", flyers, "--drift", drift];
        let said = told_alike(&tab, "#outcomes p, #outcomes tr", &words).await;
        tab.check(said.len() > 15, &format!("the app says little: {said:#?}")).await;
    }
}
