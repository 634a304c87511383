//! One value of a plan's text replaced where it stands; every other byte stays.

use saphyr_parser::{Event, Parser, ScalarStyle};

use crate::plan::Mark;

/// Replaces the scalar that begins at `at` by `value`. None where no plain or simply
/// quoted scalar on one line begins there.
pub fn replace(text: &str, at: Mark, value: &str) -> Option<String> {
    let (written, style) = scalar_at(text, at)?;
    let start = offset(text, at)?;
    let rest = text.get(start..)?;
    let raw = match style {
        ScalarStyle::Plain => written.clone(),
        ScalarStyle::SingleQuoted => format!("'{written}'"),
        ScalarStyle::DoubleQuoted => format!("\"{written}\""),
        _ => return None,
    };
    // Escapes and folded lines are written otherwise than they read: not edited.
    if raw.contains('\n') || !rest.starts_with(&raw) {
        return None;
    }
    let end = start + raw.len();
    Some(format!("{}{value}{}", text.get(..start)?, text.get(end..)?))
}

fn scalar_at(text: &str, at: Mark) -> Option<(String, ScalarStyle)> {
    let mut parser = Parser::new_from_str(text);
    while let Some(next) = parser.next_event() {
        let (event, span) = next.ok()?;
        if let Event::Scalar(written, style, ..) = event
            && span.start.line() == at.line
            && span.start.col() + 1 == at.column
        {
            return Some((written.into_owned(), style));
        }
    }
    None
}

/// Byte offset of a line and column as an editor counts them.
fn offset(text: &str, at: Mark) -> Option<usize> {
    let mut line_start = 0;
    for _ in 1..at.line {
        line_start += text.get(line_start..)?.find('\n')? + 1;
    }
    let line = text.get(line_start..)?;
    let column = line
        .char_indices()
        .nth(at.column.checked_sub(1)?)
        .map(|(i, _)| i)?;
    Some(line_start + column)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "a: {b: 9 min .. 12 min, c: \"4 min\"} # 9 min\nd:\n  é: '1 h'\n";

    fn at(line: usize, column: usize) -> Mark {
        Mark { line, column }
    }

    #[test]
    fn only_the_value_changes() {
        assert_eq!(
            replace(TEXT, at(1, 8), "11 min").as_deref(),
            Some("a: {b: 11 min, c: \"4 min\"} # 9 min\nd:\n  é: '1 h'\n")
        );
        assert_eq!(
            replace(TEXT, at(1, 28), "5 min").as_deref(),
            Some("a: {b: 9 min .. 12 min, c: 5 min} # 9 min\nd:\n  é: '1 h'\n")
        );
        assert_eq!(
            replace(TEXT, at(3, 6), "2 h").as_deref(),
            Some("a: {b: 9 min .. 12 min, c: \"4 min\"} # 9 min\nd:\n  é: 2 h\n")
        );
    }

    #[test]
    fn where_no_value_begins_nothing_is_edited() {
        for (line, column) in [(1, 9), (2, 3), (9, 1), (1, 999), (0, 0)] {
            assert_eq!(
                replace(TEXT, at(line, column), "x"),
                None,
                "{line}:{column}"
            );
        }
        assert_eq!(replace("a: \"4\\u0020min\"\n", at(1, 4), "5 min"), None);
        assert_eq!(replace("a: >-\n  4 min\n", at(1, 4), "5 min"), None);
    }
}
