//! Two devices, one archer, one server.

use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

use crate::browser::{Profile, Tab};
use crate::server::app_folder;
use crate::shooting::records;
use crate::{PHONE, start_session};

/// The program beside this test, where cargo builds it.
fn program() -> PathBuf {
    if let Some(path) = std::env::var_os("GOLDWARD_PROGRAM") {
        return path.into();
    }
    let own = std::env::current_exe().expect("this test is a file");
    let path = own.parent().and_then(|p| p.parent()).expect("in a target folder").join("goldward");
    assert!(path.exists(), "build the program first: cargo build --package goldward");
    path
}

/// A server of ours that ends with the test.
struct Goldward {
    child: Child,
    url: String,
}

impl Goldward {
    fn start(folder: &Profile, addr: &str) -> Self {
        let mut child = Command::new(program())
            .args(["serve", "--addr", addr, "--web"])
            .arg(app_folder())
            .arg("--db")
            .arg(folder.0.join("goldward.db"))
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
    tab.click("#sync").await;
    tab.until("document.querySelector('#standing').innerText.startsWith('In step')").await;
    tab.saved().await;
    tab.go("shoot").await;
}

#[tokio::test]
async fn two_devices_merge_through_the_server_and_survive_its_restart() {
    let (data, one, two) = (Profile::fresh(), Profile::fresh(), Profile::fresh());
    let mut server = Goldward::start(&data, "127.0.0.1:0");
    let first = Tab::open("sync-first", &server.url, PHONE, &one).await;
    start_session(&first, true).await;
    for x in [10.0, 20.0, 30.0] {
        first.shoot(x, 0.0, 610.0).await;
    }
    in_step(&first).await;

    let second = Tab::open("sync-second", &server.url, PHONE, &two).await;
    second.ready().await;
    in_step(&second).await;
    second.check(records(&second, "shot").await.len() == 3, "the shots came over").await;
    second.click(".session").await;
    second.wait_for("svg.face").await;
    second.shoot(-40.0, 10.0, 610.0).await;
    second.click("[data-shot='1']").await;
    second.click("#bad").await;

    // The server is killed and started again at the same address while both have something new.
    first.click("[data-shot='2']").await;
    first.click("#good").await;
    let addr = server.url.trim_start_matches("http://").to_owned();
    server.stop();
    let _server = Goldward::start(&data, &addr);
    in_step(&second).await;
    in_step(&first).await;
    in_step(&second).await;
    let (a, b) = (records(&first, "shot").await, records(&second, "shot").await);
    first.check(a == b && a.len() == 4, &format!("{a:?}\n{b:?}")).await;
    first.check(a[0]["felt"] == "bad" && a[1]["felt"] == "good", &format!("both marks are kept: {a:?}")).await;
}
