//! Two devices, one archer, one server.

use std::io::{BufRead, BufReader, Write};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

use crate::browser::Profile;
use crate::scenarios;
use crate::server::{app_folder, fresh_port};
use crate::shooting::records;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{PHONE, start_session};

scenarios!(
    // WebKit's driver hits what stands above, once a page has been scrolled; there a coach reads along instead (`account`).
    two_devices_merge_through_the_server_and_survive_its_restart,
);

/// The program beside this test, where cargo builds it.
pub fn program() -> PathBuf {
    if let Some(path) = std::env::var_os("GOLDWARD_PROGRAM") {
        return path.into();
    }
    let own = std::env::current_exe().expect("this test is a file");
    let path = own.parent().and_then(|p| p.parent()).expect("in a target folder").join("goldward");
    assert!(path.exists(), "build the program first: cargo build --package goldward");
    path
}

/// What whoever looks after the server types, with the first line of its input; it must be done.
pub fn goldward(db: &str, args: &[&str], input: &str) -> String {
    let mut child = Command::new(program())
        .args(args)
        .args(["--db", db])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program");
    let _ = child.stdin.take().expect("its input").write_all(input.as_bytes());
    let out = child.wait_with_output().expect("its end");
    assert!(out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8_lossy(&out.stdout).into_owned()
}

/// A server of ours that ends with the test.
pub struct Goldward {
    child: Child,
    pub url: String,
}

impl Goldward {
    pub fn start(folder: &Profile, addr: &str, more: &[&str]) -> Self {
        Self::on(&folder.0.join("goldward.db").display().to_string(), addr, more)
    }

    /// On a store that may be a database.
    pub fn on(db: &str, addr: &str, more: &[&str]) -> Self {
        let mut child = Command::new(program())
            .args(["serve", "--addr", addr, "--web"])
            .arg(app_folder())
            .args(["--db", db])
            .args(more)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the server");
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let url = lines.map_while(Result::ok).find_map(|l| l.strip_prefix("listening on ").map(str::to_owned));
        Self { child, url: url.expect("the server tells its address") }
    }

    fn stop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Drop for Goldward {
    fn drop(&mut self) {
        self.stop();
    }
}

async fn in_step(tab: &Tab) {
    tab.saved().await;
    tab.go("settings").await;
    tab.until("!document.querySelector('#standing').innerText.includes('…')").await;
    tab.tap("#sync").await;
    tab.until("document.querySelector('#standing').innerText.startsWith('In step')").await;
    tab.saved().await;
    tab.go("shoot").await;
}

async fn two_devices_merge_through_the_server_and_survive_its_restart(stage: Stage) {
    let data = Profile::fresh();
    let mut server = Goldward::start(&data, &format!("127.0.0.1:{}", fresh_port()), &[]);
    let first = stage.tab("sync-first", &server.url, PHONE).await;
    start_session(&first, true).await;
    for x in [10.0, 20.0, 30.0] {
        first.shoot(x, 0.0, 610.0).await;
    }
    in_step(&first).await;

    let second = stage.tab("sync-second", &server.url, PHONE).await;
    second.ready().await;
    in_step(&second).await;
    second.check(records(&second, "shot").await.len() == 3, "the shots came over").await;
    second.tap(".session").await;
    second.wait_for("svg.face").await;
    second.shoot(-40.0, 10.0, 610.0).await;
    second.tap("[data-shot='1']").await;
    second.tap("#bad").await;
    in_step(&second).await;

    // The server is killed, and started again at the same address when both have something new, of one arrow too.
    let addr = server.url.trim_start_matches("http://").to_owned();
    server.stop();
    for shot in ["[data-shot='2']", "[data-shot='3']"] {
        first.tap(shot).await;
        first.tap("#good").await;
    }
    second.wait_for("svg.face").await;
    second.tap("[data-shot='3']").await;
    second.tap("#bad").await;
    // One after the other: where both are on their way in the same moment, neither may be told.
    first.js("(() => { const whole = fetch; window.cut = true; window.fetch = (...all) => window.cut ? Promise.reject(new TypeError('cut')) : whole(...all); return true; })()").await;
    let _server = Goldward::start(&data, &addr, &[]);
    in_step(&second).await;
    first.js("window.cut = false").await;
    in_step(&first).await;
    in_step(&second).await;
    let (a, b) = (records(&first, "shot").await, records(&second, "shot").await);
    first.check(a == b && a.len() == 4, &format!("{a:?}\n{b:?}")).await;
    let felt = |n: usize| a[n]["felt"].as_str().unwrap_or_default().to_owned();
    first.check([felt(0), felt(1), felt(2)] == ["bad", "good", "bad"], &format!("{a:?}")).await;

    // Who was in step last is told, and takes the earlier version with one press.
    first.go("settings").await;
    let told = first.text("#changed-apart li").await;
    first.check(told.starts_with("Kept: the one of"), &told).await;
    first.tap("#changed-apart li button").await;
    in_step(&first).await;
    in_step(&second).await;
    let b = records(&second, "shot").await;
    second.check(b[2]["felt"] == "good", &format!("{b:?}")).await;
}
