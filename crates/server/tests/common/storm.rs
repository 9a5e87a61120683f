//! `kill -9` in a write storm: what was acknowledged has to be there.

use std::collections::HashSet;
use std::io::{BufRead as _, BufReader};
use std::net::SocketAddr;
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::time::Duration;

use goldward_journal::{Log, Record, Uuid, Writer};
use goldward_server::{Config, Listening, serve};
use goldward_store::ops::Pull;
use goldward_store::{Backend as _, Place, Store};

use crate::common::{JSON, note, send, sync};

/// Names the store to the process that is to be killed.
const CHILD: &str = "GOLDWARD_TEST_SERVE";

/// What became of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Told {
    pub kills: u32,
    pub acknowledged: usize,
    pub lost: usize,
}

/// Is the server that is to be killed, in the process that was started for it; returns at once in any other.
pub fn be_the_server() {
    #[allow(clippy::disallowed_methods, reason = "this is how the parent process speaks to it")]
    let Ok(place) = std::env::var(CHILD) else { return };
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let store = Store::open(&place.parse::<Place>().unwrap()).await.unwrap();
        let config = Config::new("127.0.0.1:0".parse().unwrap());
        #[allow(clippy::print_stdout, reason = "the parent process reads it")]
        let tell = |at: Listening| println!("\nlistening {}", at.addr);
        serve(store, config, tell, std::future::pending()).await.unwrap();
    });
}

fn start(place: &str, words: &[&str]) -> (Child, SocketAddr) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(words)
        .env(CHILD, place)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let addr = lines.map_while(Result::ok).find_map(|l| l.strip_prefix("listening ").map(|a| a.parse().unwrap()));
    (child, addr.unwrap())
}

/// Kills a server so many times while three devices write; `words` make this program call [`be_the_server`].
pub fn storm(place: &str, kills: u32, words: &[&str]) -> Told {
    let archers: Vec<Uuid> = (1..=3).map(Uuid::from_u128).collect();
    let acknowledged: Mutex<Vec<Record>> = Mutex::default();
    let mut state = 12_345u64;
    for kill in 0..kills {
        let (mut child, addr) = start(place, words);
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let life = Duration::from_millis(20 + (state >> 33) % 130);
        let before = acknowledged.lock().unwrap().len();
        std::thread::scope(|scope| {
            for archer in &archers {
                let acknowledged = &acknowledged;
                scope.spawn(move || {
                    let device = Uuid::from_u128(archer.as_u128() * 1000 + u128::from(kill));
                    let mut writer = Writer::new(*archer, device);
                    for part in 0u64.. {
                        let first = archer.as_u128() as u64 * 10_000_000 + u64::from(kill) * 10_000 + part * 5;
                        let records: Vec<Record> = (first..first + 5).map(|n| note(&mut writer, n)).collect();
                        match send(addr, "POST", "/api/v1/sync", JSON, &sync(*archer, 1 << 40, &records)) {
                            Ok(answer) if answer.status == 200 => acknowledged.lock().unwrap().extend(records),
                            Ok(answer) => panic!("{} {}", answer.status, answer.text()),
                            Err(_) => break,
                        }
                    }
                });
            }
            std::thread::sleep(life);
            // On a busy machine the storm begins late.
            for _ in 0..1000 {
                if acknowledged.lock().unwrap().len() > before {
                    break;
                }
                std::thread::sleep(Duration::from_millis(10));
            }
            // SIGKILL: no goodbye.
            child.kill().unwrap();
            child.wait().unwrap();
        });
    }
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let there = runtime.block_on(async {
        let store = Store::open(&place.parse::<Place>().unwrap()).await.unwrap();
        assert_eq!(store.integrity().await.unwrap(), Vec::<String>::new());
        let mut there: HashSet<String> = HashSet::new();
        for archer in archers {
            let (mut after, mut log) = (0, Log::new());
            loop {
                let page = store.run(Pull { archer, after, limit: 20_000 }).await.unwrap();
                log.extend(page.json.iter().map(|j| serde_json::from_str::<Record>(j).unwrap()));
                there.extend(page.json);
                after = page.cursor;
                if !page.more {
                    assert_eq!(page.digest, log.digest(), "the running digest is the log's");
                    break;
                }
            }
        }
        there
    });
    let acknowledged = acknowledged.into_inner().unwrap();
    let lost = acknowledged.iter().filter(|r| !there.contains(&r.to_json())).count();
    Told { kills, acknowledged: acknowledged.len(), lost }
}
