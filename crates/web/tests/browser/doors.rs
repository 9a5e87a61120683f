//! What is tapped into the app gets the answer that the program gives to the same log, word for word and digit for digit.

use std::process::Command;

use goldward_core::random::Random;

use crate::browser::Profile;
use crate::scenarios;
use crate::server::Server;
use crate::shooting::{lines, records};
use crate::stage::Stage;
use crate::sync::program;
use crate::tab::Tab;
use crate::{PHONE, start_session};

scenarios!(places_and_calls_are_answered_as_by_the_program, calls_alone_are_answered_as_by_the_program,);

/// One line with single spaces, as both doors' lines are compared.
fn line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What the app says of the session, paragraph by paragraph, the whole page of the program on the log that the app has stored,
/// and that log.
async fn both(tab: &Tab) -> (Vec<String>, String, String) {
    tab.tap("#explain").await;
    tab.wait_for(".causes").await;
    let said = tab
        .js("[...document.querySelectorAll('.page > h2:first-child, .page > div:not(.buttons) > p, #numbers > div > p')].map(e => e.textContent)")
        .await;
    let said: Vec<String> =
        said.as_array().into_iter().flatten().map(|t| line(t.as_str().unwrap_or_default())).collect();
    tab.tap("#back").await;
    let log = format!("{{\"format\":\"goldward-log\",\"schema\":1}}\n{}\n", lines(tab).await.join("\n"));
    let folder = Profile::fresh();
    let file = folder.0.join("log.jsonl");
    std::fs::write(&file, &log).expect("the log");
    let mut command = Command::new(program());
    command.args(["read", "--session", "latest", "--language", "en", "--log"]).arg(&file);
    let out = command.output().expect("the program");
    let told = String::from_utf8_lossy(&out.stdout).into_owned();
    tab.check(out.status.success(), &format!("{told}{}", String::from_utf8_lossy(&out.stderr))).await;
    (said, line(&told), log)
}

async fn same(tab: &Tab) {
    let (said, told, log) = both(tab).await;
    tab.check(said.len() > 8, &format!("the app says little: {said:#?}")).await;
    // The dash and the word of a caution stand before what the program lists.
    let missing: Vec<&String> = said.iter().filter(|s| !told.contains(s.trim_end_matches('.'))).collect();
    tab.check(
        missing.is_empty(),
        &format!("only the app says {missing:#?}\nthe program says {told}\nof the log\n{log}"),
    )
    .await;
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
