//! What a hand does: taps, slides, swipes, pinches with two fingers, and keys; through the driver, as real input.
//!
//! Where a driver has no fingers ([`Engine::has_fingers`]) one finger is a real pointer of the mouse, and two are events of our own.

use serde_json::{Value, json};

use crate::engine::Engine;
use crate::tab::Tab;

/// A place in the window, in pixels.
pub type At = (f64, f64);

/// Drivers know whole pixels only.
fn whole((x, y): At) -> Value {
    json!([x.round() as i64, y.round() as i64])
}

fn go(at: At, ms: u32) -> Value {
    let at = whole(at);
    json!({ "type": "pointerMove", "duration": ms, "x": at[0], "y": at[1], "origin": "viewport" })
}

fn down() -> Value {
    json!({ "type": "pointerDown", "button": 0 })
}

fn up() -> Value {
    json!({ "type": "pointerUp", "button": 0 })
}

fn wait(ms: u32) -> Value {
    json!({ "type": "pause", "duration": ms })
}

impl Tab {
    fn pointer(&self, n: u32, acts: &[Value]) -> Value {
        let kind = if self.has_finger() { "touch" } else { "mouse" };
        let parameters = json!({ "pointerType": kind });
        json!({ "type": "pointer", "id": format!("{kind}{n}"), "parameters": parameters, "actions": acts })
    }

    async fn act(&self, sources: Value) {
        self.must(self.browser.post("/actions", json!({ "actions": sources })).await).await;
    }

    /// A finger that goes down at the first place, slides through the others and lets go.
    pub async fn touch(&self, path: &[At]) {
        let mut acts = Self::down_and_along(path);
        acts.push(up());
        self.act(json!([self.pointer(1, &acts)])).await;
        self.settle().await;
    }

    fn down_and_along(path: &[At]) -> Vec<Value> {
        let mut acts = vec![go(path[0], 0), down()];
        acts.extend(path[1..].iter().map(|p| go(*p, 16)));
        acts
    }

    /// A finger that goes down at the first place and slides through the others, and stays.
    pub async fn press(&self, path: &[At]) {
        self.act(json!([self.pointer(1, &Self::down_and_along(path))])).await;
    }

    /// Lets the finger go that [`Tab::press`] put down.
    pub async fn lift(&self) {
        if self.engine() == Engine::WebKit {
            // Its driver forgets what it releases, without a word to the page.
            self.act(json!([self.pointer(1, &[up()])])).await;
        } else {
            self.must(self.browser.delete("/actions").await).await;
        }
        self.settle().await;
    }

    /// A quick tap.
    pub async fn tap_at(&self, at: At) {
        self.act(json!([self.pointer(1, &[go(at, 0), down(), up()])])).await;
        self.settle().await;
    }

    /// A quick stroke from one place to another.
    pub async fn swipe(&self, from: At, to: At) {
        let between = |k: f64| (from.0 + (to.0 - from.0) * k, from.1 + (to.1 - from.1) * k);
        let path: Vec<At> = [0.0, 0.2, 0.5, 0.8, 1.0].map(between).to_vec();
        self.touch(&path).await;
    }

    /// Two fingers about `middle`, `from` pixels apart at first and `to` in the end.
    pub async fn pinch(&self, middle: At, from: f64, to: f64) {
        let place = |side: f64, apart: f64| (middle.0 + side * apart / 2.0, middle.1);
        self.browser.spend();
        let path = |side: f64| [0.0, 0.34, 0.67, 1.0].map(|k| place(side, from + (to - from) * k));
        if !self.has_finger() {
            self.told_pinch(&path(-1.0), &path(1.0)).await;
            return self.settle().await;
        }
        let finger = |n: u32, path: &[At]| {
            // The second finger is never down at the very moment of the first.
            let mut acts = if n == 2 { vec![wait(0)] } else { Vec::new() };
            acts.extend([go(path[0], 0), down()]);
            if n == 1 {
                acts.push(wait(0));
            }
            acts.extend(path[1..].iter().map(|p| go(*p, 16)));
            acts.push(up());
            self.pointer(n, &acts)
        };
        self.act(json!([finger(1, &path(-1.0)), finger(2, &path(1.0))])).await;
        self.settle().await;
    }

    /// A pinch in events of our own, for a browser whose driver has no fingers.
    async fn told_pinch(&self, one: &[At], two: &[At]) {
        let mut events: Vec<(&str, usize, At)> = vec![("pointerdown", 1, one[0]), ("pointerdown", 2, two[0])];
        for k in 1..one.len() {
            events.extend([("pointermove", 1, one[k]), ("pointermove", 2, two[k])]);
        }
        events.extend([("pointerup", 1, one[one.len() - 1]), ("pointerup", 2, two[two.len() - 1])]);
        let told: Vec<Value> = events.into_iter().map(|(kind, id, at)| json!([kind, 10 + id, at.0, at.1])).collect();
        self.js(&format!(
            "(() => {{ const on = {{}}; for (const [kind, id, x, y] of {}) {{ \
             if (kind === 'pointerdown') on[id] = document.elementFromPoint(x, y); if (!on[id]) continue; \
             on[id].dispatchEvent(new PointerEvent(kind, {{ pointerId: id, pointerType: 'touch', isPrimary: id === 11, clientX: x, clientY: y, \
             button: kind === 'pointermove' ? -1 : 0, buttons: kind === 'pointerup' ? 0 : 1, bubbles: true, cancelable: true }})); }} return true; }})()",
            json!(told)
        ))
        .await;
    }

    /// Keys pressed one after the other; WebDriver's own characters for those without a letter.
    pub async fn keys(&self, keys: &[&str]) {
        let acts: Vec<Value> = keys
            .iter()
            .flat_map(|k| [json!({ "type": "keyDown", "value": k }), json!({ "type": "keyUp", "value": k })])
            .collect();
        self.act(json!([{ "type": "key", "id": "keys", "actions": acts }])).await;
        self.settle().await;
    }
}
