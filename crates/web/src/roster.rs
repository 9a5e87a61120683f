//! Groups of archers in the words of whoever reads their logs: who is in which, and who is shown. A roster is as the server tells it, and
//! read where it is asked: what is not understood in it is nobody.

use goldward_journal::{Archer, Uuid};
use serde_json::Value;

fn all(of: &Value) -> &[Value] {
    of.as_array().map_or(&[], Vec::as_slice)
}

/// What a list of the server says of an archer.
#[must_use]
pub fn about<'a>(listed: &'a Value, archer: &str) -> &'a Value {
    all(listed).iter().find(|l| l["archer"] == archer).unwrap_or(&Value::Null)
}

/// The groups of an archer, with commas between.
#[must_use]
pub fn told(roster: &Value, archer: Uuid) -> String {
    of(roster, archer).join(", ")
}

fn of(roster: &Value, archer: Uuid) -> Vec<&str> {
    all(&about(roster, &archer.to_string())["groups"]).iter().filter_map(Value::as_str).collect()
}

/// All groups, by name.
#[must_use]
pub fn groups(roster: &Value) -> Vec<&str> {
    let mut groups: Vec<&str> = Vec::new();
    for group in all(roster).iter().flat_map(|r| all(&r["groups"])).filter_map(Value::as_str) {
        if let Err(at) = groups.binary_search(&group) {
            groups.insert(at, group);
        }
    }
    groups
}

/// The archers of a group, or all where nobody is in it: one group after the other, and who is in none last.
#[must_use]
pub fn shown(roster: &Value, group: &str, mut archers: Vec<(Uuid, Archer)>) -> Vec<(Uuid, Archer)> {
    let is_in = |id: Uuid, group: &str| of(roster, id).contains(&group);
    // A group that nobody is in any more hides nobody.
    if archers.iter().any(|(id, _)| is_in(*id, group)) {
        archers.retain(|(id, _)| is_in(*id, group));
    }
    let mut out = Vec::new();
    for group in groups(roster) {
        let mut i = 0;
        while i < archers.len() {
            if is_in(archers[i].0, group) {
                out.push(archers.remove(i));
            } else {
                i += 1;
            }
        }
    }
    out.append(&mut archers);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_group_shows_its_archers_and_one_that_is_gone_hides_nobody() {
        let archer =
            |n: u128, name: &str| (Uuid::from_u128(n), Archer { name: name.to_owned(), hand: None, counted: None });
        let roster = serde_json::json!([
            { "archer": Uuid::from_u128(1), "groups": ["juniors"] },
            { "archer": Uuid::from_u128(3), "groups": ["Tuesday", "juniors"] },
            { "archer": "nonsense", "groups": ["x", 7] }, { "archer": Uuid::from_u128(4) }, 7,
        ]);
        assert_eq!(groups(&roster), ["Tuesday", "juniors", "x"]);
        assert_eq!(told(&roster, Uuid::from_u128(3)), "Tuesday, juniors");
        let shown = |group: &str| -> Vec<String> {
            let all = vec![archer(1, "Anna"), archer(2, "Ben"), archer(3, "Carla")];
            super::shown(&roster, group, all).into_iter().map(|(_, a)| a.name).collect()
        };
        assert_eq!(shown(""), ["Carla", "Anna", "Ben"], "by group, who is in none last");
        assert_eq!(shown("juniors"), ["Carla", "Anna"]);
        assert_eq!(shown("seniors"), ["Carla", "Anna", "Ben"]);
        assert!(groups(&Value::Null).is_empty() && told(&Value::Null, Uuid::nil()).is_empty());
    }
}
