//! Bytes → text that the YAML parser can be trusted with.

use super::problem::{Desk, Mark};

/// A plan is a page or two; this is a long book.
pub(super) const MOST_BYTES: usize = 256 * 1024;

/// Decodes a file as UTF-8, or says where it is not.
pub(super) fn decode<'b>(bytes: &'b [u8], desk: &mut Desk<'_>) -> Option<&'b str> {
    if bytes.len() > MOST_BYTES {
        too_long(bytes.len(), desk);
        return None;
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        desk.problem(
            Mark::START,
            "the file is UTF-16",
            "the same text saved as UTF-8",
        );
        return None;
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text),
        Err(error) => {
            let good = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let good = String::from_utf8_lossy(good);
            desk.problem(
                end_of(&good),
                "the file is not UTF-8 from here on",
                "the same text saved as UTF-8",
            );
            None
        }
    }
}

/// Checks what no YAML error explains well: size, tabs, control characters.
/// Returns the text without its byte order mark, or nothing if it is hopeless.
pub(super) fn clean<'t>(text: &'t str, desk: &mut Desk<'_>) -> Option<&'t str> {
    if text.len() > MOST_BYTES {
        too_long(text.len(), desk);
        return None;
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let before = desk.count();
    for (number, line) in text.split('\n').enumerate() {
        let width = line.chars().count();
        let blank = line.trim().is_empty();
        let indent = line
            .chars()
            .position(|c| c != ' ' && c != '\t')
            .unwrap_or(width);
        for (column, c) in line.chars().enumerate() {
            let at = Mark {
                line: number + 1,
                column: column + 1,
            };
            let last = column + 1 == width;
            match c {
                '\t' if column < indent && !blank => {
                    desk.problem(
                        at,
                        "a tab at the start of a line",
                        "two spaces for each step of indentation",
                    );
                    break;
                }
                '\r' if !last => {
                    desk.problem(at, "a bare carriage return", "a line feed (Enter)");
                    break;
                }
                '\t' | '\r' => {}
                c if c.is_control()
                    || ('\u{fdd0}'..='\u{fdef}').contains(&c)
                    || c == '\u{feff}' =>
                {
                    desk.problem(
                        at,
                        format!("an invisible character (U+{:04X})", c as u32),
                        "the line again without it",
                    );
                    break;
                }
                _ => {}
            }
        }
    }
    (desk.count() == before).then_some(text)
}

fn too_long(bytes: usize, desk: &mut Desk<'_>) {
    desk.problem(
        Mark::START,
        format!(
            "the file has {} KiB, a plan has at most {}",
            bytes / 1024,
            MOST_BYTES / 1024
        ),
        "a shorter plan, or several",
    );
}

/// The place of the last character of `text`, for what is wrong at its end.
pub(super) fn end_of(text: &str) -> Mark {
    let last = text.rsplit('\n').next().unwrap_or_default();
    Mark {
        line: text.matches('\n').count() + 1,
        column: last.chars().count() + 1,
    }
}
