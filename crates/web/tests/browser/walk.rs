//! Random walks over the built app, by touch, swipe, pinch, keys and odd input, in any order and twice in a row.
//!
//! A walk is given by its seed: browser, size of the window, language and the log it begins with follow from its number, the acts
//! from the random source. After every act: no error in the page, no blank screen, nothing absurd to read, nothing too wide, and
//! as many arrows on the face as in the log; an act that is no press of a button loses no arrow; and now and then what an act
//! did is undone and done again, and must be as before. A failing walk prints its seed and its steps.

use std::fmt::Write as _;
use std::process::{Command, Stdio};
use std::sync::OnceLock;

use goldward_core::random::Random;
use serde_json::{Value, json};

use crate::browser::Profile;
use crate::finger::At;
use crate::server::{ELSEWHERE, Server};
use crate::stage::{Scenario, Stage};
use crate::sync::{Goldward, program};
use crate::tab::Tab;

const PROBE: &str = include_str!("probe.js");

/// Steps of all walks together, in each browser: the usual run, or as many as `GOLDWARD_WALK_STEPS` says.
const STEPS: u32 = 300;
/// Steps of one walk.
const STEPS_EACH: u32 = 50;

/// A phone, a small phone and a desk.
const SIZES: [(&str, (u32, u32)); 3] = [("phone", (390, 844)), ("small", (320, 568)), ("desk", (1280, 800))];
const LANGUAGES: [&str; 3] = ["en", "de", "fr"];

/// What people write into a field for a number, and what they should not.
const NUMBERS: [&str; 16] =
    ["abc", "5 1/2", "88cm", "9l.8", "", "-0", "1e999", "NaN", "70", "18", "54,5", "0", "-3", "1e-9", "  12  ", "٧٠"];
/// Names that people give.
const NAMES: [&str; 6] = ["", "Wren", "🏹🎯", "<b>Alder</b>", "   ", "A1 A2, A2;A3"];

/// One walk.
#[derive(Debug, Clone, Copy)]
struct Walk {
    seed: u64,
    number: u32,
    steps: u32,
    size: (&'static str, (u32, u32)),
    language: usize,
    demo: bool,
}

/// The walks of this run, each a scenario of its own.
pub fn all() -> Vec<Scenario> {
    let set = |name: &str| std::env::var(name).ok();
    let total: u32 = set("GOLDWARD_WALK_STEPS").map_or(STEPS, |t| t.parse().expect("GOLDWARD_WALK_STEPS is a number"));
    let seed: u64 = set("GOLDWARD_WALK_SEED").map_or(1, |t| t.parse().expect("GOLDWARD_WALK_SEED is a number"));
    let walks = total.div_ceil(STEPS_EACH);
    (0..walks)
        .map(|number| {
            let i = number as usize;
            let walk = Walk {
                seed,
                number,
                steps: STEPS_EACH.min(total - number * STEPS_EACH),
                size: SIZES[i % 3],
                // Each size meets each language, and each of these pairs both logs.
                language: (i + i / 3) % 3,
                demo: (i + i / 9) % 2 == 1,
            };
            let log = if walk.demo { "demo" } else { "empty" };
            let name = format!("walk_{number}_{}_{}_{log}", walk.size.0, LANGUAGES[walk.language]);
            Scenario::new(&name, move |stage| Box::pin(go(stage, walk)))
        })
        .collect()
}

/// The log of the demo, as the program exports it, and how many records it has.
fn demo() -> &'static (String, usize) {
    static DEMO: OnceLock<(String, usize)> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = Profile::fresh();
        drop(Goldward::start(&folder, "127.0.0.1:0", &["--demo"]));
        let out = Command::new(program())
            .args(["log", "export", "--db"])
            .arg(folder.0.join("goldward.db"))
            .stderr(Stdio::inherit())
            .output()
            .expect("the program");
        let text = String::from_utf8(out.stdout).expect("text");
        let records = text.lines().count() - 1;
        assert!(records > 100, "the demo has {records} records");
        (text, records)
    })
}

/// What one look at the page found.
struct Look(Value);

impl Look {
    fn at(&self, key: &str) -> Option<At> {
        let v = &self.0[key];
        Some((v[0].as_f64()?, v[1].as_f64()?))
    }

    fn hash(&self) -> &str {
        self.0["hash"].as_str().unwrap_or_default()
    }

    fn shots(&self) -> u64 {
        self.0["shots"].as_u64().unwrap_or(0)
    }

    fn targets(&self) -> &[Value] {
        self.0["targets"].as_array().map_or(&[], Vec::as_slice)
    }
}

/// What a step may do to the log.
#[derive(Clone, Copy, PartialEq)]
enum May {
    /// Everything that a button does.
    Anything,
    /// Add, but lose no arrow.
    Add,
    /// Leave the number of arrows as it is.
    Keep,
}

/// A walk under way.
struct Walker {
    tab: Tab,
    url: String,
    walk: Walk,
    random: Random,
    steps: Vec<String>,
    compared: u32,
    undone: u32,
}

impl Walker {
    fn below(&mut self, n: usize) -> usize {
        (self.random.uniform() * n as f64) as usize
    }

    fn chance(&mut self, p: f64) -> bool {
        self.random.uniform() < p
    }

    fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        let i = self.below(of.len());
        &of[i]
    }

    async fn fail(&self, why: &str) -> ! {
        let mut told = String::new();
        for (i, step) in self.steps.iter().enumerate() {
            let _ = writeln!(told, "  {i:>3} {step}");
        }
        let Walk { seed, number, steps, .. } = self.walk;
        let again = format!(
            "GOLDWARD_WALK_SEED={seed} GOLDWARD_WALK_STEPS={} cargo xtask browser --browser {} walk_{number}_",
            number * STEPS_EACH + steps,
            self.tab.engine().name()
        );
        self.tab.fail(&format!("{why}\nthe walk, to be walked again by {again}:\n{told}")).await
    }

    /// Looks at the page, wherever it is; goes back to the app when it has been left.
    async fn look(&mut self) -> Look {
        let mut tries = 0;
        loop {
            tries += 1;
            match self.tab.browser.js(PROBE).await {
                Ok(look) if look["left"] == true => {
                    self.steps.push("(left the app, and opens it again)".to_owned());
                    if let Err(e) = self.tab.browser.goto(&self.url).await {
                        self.fail(&e).await;
                    }
                }
                Ok(look) => return Look(look),
                // A page that is just being left.
                Err(e) if tries > 8 => self.fail(&format!("the page does not answer: {e}")).await,
                Err(_) => tokio::time::sleep(std::time::Duration::from_millis(100)).await,
            }
        }
    }

    async fn looked(&mut self) -> Look {
        let look = self.look().await;
        let broken: Vec<&str> = look.0["broken"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        if !broken.is_empty() {
            self.fail(&broken.join("\n")).await;
        }
        self.compared += u32::from(look.0["compared"] == true);
        look
    }

    fn somewhere(&mut self, of: &Look) -> At {
        let (w, h) = of.at("side").unwrap_or((300.0, 500.0));
        (2.0 + self.random.uniform() * (w - 4.0), 2.0 + self.random.uniform() * (h - 4.0))
    }

    fn on_face(&mut self, (left, top, side): (f64, f64, f64), of: &Look) -> At {
        let (a, b) = self.random.normal_pair();
        let (_, h) = of.at("side").unwrap_or((300.0, 500.0));
        let place = |v: f64, from: f64| from + side * (0.5 + 0.17 * v).clamp(0.02, 0.98);
        (place(a, left), place(b, top).clamp(1.0, h - 2.0))
    }

    /// One act, chosen by chance among those that the page offers.
    async fn step(&mut self, look: &Look) -> May {
        let face = look.0["face"].as_array().map(|f| {
            let n = |i: usize| f[i].as_f64().unwrap_or(0.0);
            (n(0), n(1), n(2))
        });
        // Without a face in sight there is nothing to plot on.
        let dice = if face.is_some() { self.random.uniform() } else { 0.35 + 0.65 * self.random.uniform() };
        if let Some(face) = face {
            if dice < 0.30 {
                let from = self.on_face(face, look);
                // A face that is scrolled away may leave something else there, which may well take an arrow back.
                let hit = format!("!!document.elementFromPoint({}, {})?.closest('svg.face')", from.0, from.1);
                let may = if self.tab.js(&hit).await == true { May::Add } else { May::Anything };
                if self.chance(0.25) {
                    let to = self.on_face(face, look);
                    self.steps.push(format!("press on the face at {from:.0?} and slide to {to:.0?}"));
                    self.tab.touch(&[from, to]).await;
                } else {
                    let twice = self.chance(0.15);
                    self.steps.push(format!("tap the face at {from:.0?}{}", if twice { ", twice" } else { "" }));
                    self.tab.tap_at(from).await;
                    if twice {
                        self.tab.tap_at(from).await;
                    }
                }
                // A shot that is on the move, or one that was hit, is changed, not lost.
                return may;
            }
            if dice < 0.35 {
                let (middle, from, to) = (
                    self.on_face(face, look),
                    40.0 + 80.0 * self.random.uniform(),
                    20.0 + 160.0 * self.random.uniform(),
                );
                let room = look.at("side").map_or(300.0, |s| s.0);
                let apart = |d: f64| d.min(2.0 * (middle.0 - 1.0)).min(2.0 * (room - 2.0 - middle.0)).max(2.0);
                self.steps.push(format!("pinch at {middle:.0?} from {from:.0} to {to:.0} px"));
                self.tab.pinch(middle, apart(from), apart(to)).await;
                return May::Keep;
            }
        }
        match dice {
            d if d < 0.39 => {
                let keys: &[(&str, &str)] = &[
                    ("Tab", "\u{e004}"),
                    ("Enter", "\u{e007}"),
                    ("Space", " "),
                    ("Up", "\u{e013}"),
                    ("Down", "\u{e015}"),
                    ("Left", "\u{e012}"),
                    ("Right", "\u{e014}"),
                    ("Escape", "\u{e00c}"),
                    ("7", "7"),
                ];
                let chosen: Vec<(&str, &str)> = (0..1 + self.below(4)).map(|_| *self.pick(keys)).collect();
                self.steps.push(format!("keys {:?}", chosen.iter().map(|k| k.0).collect::<Vec<_>>()));
                self.tab.keys(&chosen.iter().map(|k| k.1).collect::<Vec<_>>()).await;
                May::Anything
            }
            d if d < 0.43 => {
                // Beside the face, which takes a stroke as a shot that slides.
                let (from, to) = (self.somewhere(look), self.somewhere(look));
                let over = face.is_some_and(|(x, y, s)| {
                    from.0 > x - 2.0 && from.1 > y - 2.0 && from.0 < x + s + 2.0 && from.1 < y + s + 2.0
                });
                self.steps.push(format!("swipe from {from:.0?} to {to:.0?}"));
                self.tab.swipe(from, to).await;
                // With a mouse a stroke from one place of a button to another presses it.
                if over || !self.tab.has_finger() { May::Anything } else { May::Keep }
            }
            d if d < 0.49 => {
                let at = self.somewhere(look);
                self.steps.push(format!("tap anywhere: {at:.0?}"));
                self.tab.tap_at(at).await;
                May::Anything
            }
            d if d < 0.52 => {
                self.steps.push("Back".to_owned());
                self.tab.back().await;
                May::Keep
            }
            d if d < 0.54 => {
                self.steps.push("reload".to_owned());
                if let Err(e) = self.tab.browser.post("/refresh", json!({})).await {
                    self.fail(&e).await;
                }
                May::Keep
            }
            _ => self.control(look).await,
        }
    }

    /// Uses one of the controls.
    async fn control(&mut self, look: &Look) -> May {
        let targets = look.targets();
        if targets.is_empty() {
            self.fail("there is nothing to touch on this screen").await;
        }
        let fields: Vec<&Value> = targets.iter().filter(|t| t["kind"] == "number" || t["kind"] == "text").collect();
        let mains: Vec<&Value> = targets.iter().filter(|t| t["main"] == true).collect();
        // The shooting line is where most of it happens.
        let home: Vec<&Value> = targets.iter().filter(|t| t["home"] == true).collect();
        let all: Vec<&Value> = targets.iter().collect();
        let target = match self.random.uniform() {
            d if d < 0.3 && !fields.is_empty() => *self.pick(&fields),
            d if d < 0.45 && !mains.is_empty() => *self.pick(&mains),
            d if d < 0.55 && !home.is_empty() => home[0],
            _ => *self.pick(&all),
        };
        let n = all.iter().position(|t| *t == target).unwrap_or(0);
        let name = target["name"].as_str().unwrap_or_default().to_owned();
        let selector = format!("[data-walk='{n}']");
        match target["kind"].as_str() {
            Some("select") => {
                let k = self.below(12);
                self.steps.push(format!("choose option {k} or so of {name}"));
                self.run(&format!(
                    "(() => {{ const e = document.querySelector(\"{selector}\"); if (!e || !e.options.length) return; e.selectedIndex = {k} % e.options.length; \
                     for (const n of ['input', 'change']) e.dispatchEvent(new Event(n, {{ bubbles: true }})); }})()"
                ))
                .await;
                May::Anything
            }
            Some(kind @ ("number" | "text")) => {
                let long =
                    "88888888888888888888888888888888888888888888888888888888888888888888 Wren of the long name "
                        .repeat(60);
                let text = if self.chance(0.07) {
                    long.as_str()
                } else if kind == "number" {
                    *self.pick(&NUMBERS)
                } else {
                    *self.pick(&NAMES)
                };
                self.steps.push(format!("write {:?} into {name}", text.chars().take(30).collect::<String>()));
                self.run(&format!(
                    "(() => {{ const e = document.querySelector(\"{selector}\"); if (!e) return; e.focus(); e.value = {}; \
                     for (const n of ['input', 'change']) e.dispatchEvent(new Event(n, {{ bubbles: true }})); }})()",
                    json!(text)
                ))
                .await;
                May::Keep
            }
            _ => {
                if target["seen"] != true {
                    let asked = format!(
                        "(() => {{ const e = document.querySelector(\"{selector}\"); if (!e) return null; e.scrollIntoView({{ block: 'center', behavior: 'instant' }}); \
                         const r = (e.closest('label') ?? e).getClientRects()[0]; return r ? [r.left + r.width / 2, r.top + r.height / 2] : null; }})()"
                    );
                    let place = self.run(&asked).await;
                    let (Some(x), Some(y)) = (place[0].as_f64(), place[1].as_f64()) else { return May::Keep };
                    self.press(&name, (x, y), look).await;
                } else {
                    let (x, y) = (target["x"].as_f64().unwrap_or(1.0), target["y"].as_f64().unwrap_or(1.0));
                    self.press(&name, (x, y), look).await;
                }
                May::Anything
            }
        }
    }

    async fn run(&mut self, script: &str) -> Value {
        match self.tab.browser.js(script).await {
            Ok(value) => value,
            Err(e) => self.fail(&e).await,
        }
    }

    async fn press(&mut self, name: &str, at: At, look: &Look) {
        let (w, h) = look.at("side").unwrap_or((300.0, 500.0));
        let at = (at.0.clamp(1.0, w - 2.0), at.1.clamp(1.0, h - 2.0));
        let twice = self.chance(0.12);
        self.steps.push(format!("tap {name}{}", if twice { ", twice" } else { "" }));
        self.tab.tap_at(at).await;
        if twice {
            self.tab.tap_at(at).await;
        }
    }

    /// What the last step did is undone and must be as before, and done again as after.
    async fn undo(&mut self, before: &str, after: Look) -> Look {
        self.steps.push("Undo, until it is as before".to_owned());
        let (mut look, mut taken) = (after, 0);
        let wanted_back = look.hash().to_owned();
        let mut seen = Vec::new();
        // A step may have been several acts: two taps, or four keys.
        while look.hash() != before {
            let Some(at) = look.at("undo").filter(|_| taken < 5) else {
                let told: Vec<String> = seen.iter().map(|d: &Value| d.to_string()).collect();
                self.fail(&format!(
                    "{taken} times Undo do not bring back what was before; each did:\n{}",
                    told.join("\n")
                ))
                .await;
            };
            self.tab.tap_at(at).await;
            taken += 1;
            look = self.looked().await;
            seen.push(look.0["differs"].clone());
        }
        self.steps.push(format!("Redo, {taken} times"));
        for _ in 0..taken {
            let Some(at) = look.at("redo") else { self.fail("there is no Redo after Undo").await };
            self.tab.tap_at(at).await;
            look = self.looked().await;
        }
        if look.hash() != wanted_back {
            self.fail(&format!("Redo does not bring back what was undone: {}", look.0["differs"])).await;
        }
        self.undone += 1;
        look
    }
}

async fn go(stage: Stage, walk: Walk) {
    let server = Server::start();
    let url = server.url();
    let name = format!("walk-{}-{}", walk.seed, walk.number);
    let tab = stage.tab(&name, &format!("{url}{ELSEWHERE}"), walk.size.1).await;
    tab.must(tab.browser.goto(&url).await).await;
    if walk.demo {
        let (log, records) = tokio::task::spawn_blocking(demo).await.expect("the demo's log");
        tab.import(log, *records).await;
    }
    tab.ready().await;
    tab.go("settings").await;
    tab.wait_for("input[name=language]").await;
    tab.js(&format!("document.querySelectorAll('input[name=language]')[{}].click()", walk.language)).await;
    tab.until(&format!("document.documentElement.lang === '{}'", LANGUAGES[walk.language])).await;
    tab.go("shoot").await;
    let random = Random::stream(walk.seed, u64::from(walk.number));
    let mut walker = Walker { tab, url, walk, random, steps: Vec::new(), compared: 0, undone: 0 };
    let mut look = walker.looked().await;
    for _ in 0..walk.steps {
        let may = walker.step(&look).await;
        let after = walker.looked().await;
        let fine = match may {
            May::Anything => true,
            May::Add => after.shots() >= look.shots(),
            May::Keep => after.shots() == look.shots(),
        };
        if !fine {
            walker.fail(&format!("{} arrows became {}: {}", look.shots(), after.shots(), after.0["differs"])).await;
        }
        let by_undo = after.0["undos"] != look.0["undos"];
        let same_session = after.0["session"] == look.0["session"];
        look = if after.hash() != look.hash()
            && !by_undo
            && same_session
            && after.at("undo").is_some()
            && walker.chance(0.5)
        {
            walker.undo(look.hash(), after).await
        } else {
            after
        };
    }
    println!(
        "walk {} of seed {}: {} steps, {} arrows, compared {} times, undone {} times",
        walk.number,
        walk.seed,
        walker.steps.len(),
        look.shots(),
        walker.compared,
        walker.undone
    );
}
