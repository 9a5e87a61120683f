//! Controls as HTML. What is done to one comes back by its `data-act` and its value.

use std::fmt::Write as _;

use super::escape;

/// A button; with `pressed` one that stays pressed. `label` is what it is called where its text alone says too little.
#[must_use]
pub fn button(act: &str, value: &str, pressed: Option<bool>, label: &str, text: &str) -> String {
    let pressed = pressed.map_or(String::new(), |p| format!(" aria-pressed=\"{p}\""));
    format!(
        "<button type=\"button\" data-act=\"{act}\" data-value=\"{}\" aria-label=\"{}\"{pressed}>{}</button>",
        escape(value),
        escape(label),
        escape(text)
    )
}

/// A field to type in; a `unit` makes it one for numbers.
#[must_use]
pub fn field(id: &str, label: &str, value: &str, unit: &str) -> String {
    let mode = if unit.is_empty() { "text" } else { "decimal" };
    format!(
        "<div class=\"field\"><label for=\"{id}\">{}</label><span class=\"with-unit\"><input id=\"{id}\" data-act=\"{id}\" type=\"text\" \
         inputmode=\"{mode}\" autocomplete=\"off\" value=\"{}\"/><span class=\"unit\">{unit}</span></span></div>",
        escape(label),
        escape(value)
    )
}

/// One of many, as value and text.
#[must_use]
pub fn select(id: &str, label: &str, options: &[(String, String)], chosen: &str) -> String {
    let mut out = format!(
        "<div class=\"field\"><label for=\"{id}\">{}</label><select id=\"{id}\" data-act=\"{id}\">",
        escape(label)
    );
    for (value, text) in options {
        let selected = if value == chosen { " selected" } else { "" };
        let _ = write!(out, "<option value=\"{}\"{selected}>{}</option>", escape(value), escape(text));
    }
    out + "</select></div>"
}

/// One of a few, as large buttons.
#[must_use]
pub fn choice(name: &str, legend: &str, options: &[(&str, String)], chosen: &str) -> String {
    let mut out = format!("<fieldset class=\"choice\"><legend>{}</legend><div class=\"options\">", escape(legend));
    for (value, text) in options {
        let checked = if *value == chosen { " checked" } else { "" };
        let _ = write!(
            out,
            "<label class=\"option\"><input type=\"radio\" name=\"{name}\" data-act=\"{name}\" value=\"{value}\"{checked}/><span>{}</span></label>",
            escape(text)
        );
    }
    out + "</div></fieldset>"
}

/// Ways to other screens, as large as buttons.
#[must_use]
pub fn links(label: &str, to: &[(&str, &str)]) -> String {
    let mut out = format!("<nav class=\"links\" aria-label=\"{}\">", escape(label));
    for (path, title) in to {
        let _ = write!(out, "<a href=\"#/{path}\">{} <span aria-hidden=\"true\">›</span></a>", escape(title));
    }
    out + "</nav>"
}

/// A paragraph.
#[must_use]
pub fn text(class: &str, text: &str) -> String {
    format!("<p class=\"{class}\">{}</p>", escape(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn controls_say_what_they_are_and_escape_what_is_typed() {
        let bad = "\"><script>";
        let all = [
            button("a", bad, Some(true), bad, bad),
            field("f", bad, bad, "m"),
            select("s", bad, &[(bad.to_owned(), bad.to_owned())], bad),
            choice("c", bad, &[("x", bad.to_owned())], "x"),
            links(bad, &[("p", bad)]),
            text("", bad),
        ];
        assert!(all.iter().all(|t| !t.contains("<script")), "{all:?}");
        assert!(
            all[0].contains("aria-pressed=\"true\"") && all[2].contains(" selected") && all[3].contains(" checked")
        );
        assert!(all[1].contains("<label for=\"f\">") && all[1].contains("inputmode=\"decimal\""));
    }
}
