//! Lines of text.

/// `text` broken at spaces so that no line is longer than `width`, each line after `indent` spaces. A per cent sign stays
/// with its number.
#[must_use]
pub fn wrap(text: &str, width: usize, indent: usize) -> String {
    let glued = text.replace(" %", "\u{a0}%");
    let mut out = String::new();
    let mut line = " ".repeat(indent);
    let mut bare = true;
    for word in glued.split(' ') {
        if !bare && line.chars().count() + 1 + word.chars().count() > width {
            out.push_str(line.trim_end());
            out.push('\n');
            line = " ".repeat(indent);
            bare = true;
        }
        if !bare {
            line.push(' ');
        }
        line.push_str(word);
        bare = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out.replace('\u{a0}', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_spaces_and_per_cents_keep_their_number() {
        assert_eq!(wrap("one two three", 8, 1), " one two\n three\n");
        assert_eq!(wrap("unbreakable", 4, 0), "unbreakable\n");
        assert_eq!(wrap("about 99 % sure", 10, 0), "about 99 %\nsure\n");
        assert_eq!(wrap("about 99 % sure", 9, 0), "about\n99 % sure\n");
    }
}
