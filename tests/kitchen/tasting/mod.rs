//! A blind tasting as it is spoken at the table: opened, plated, answered, closed.
//!
//! | file | what |
//! | --- | --- |
//! | `opening` | which test, of what, with how many |
//! | `blind` | nobody hears which is which before all have answered |
//! | `answers` | answers are final, and a result claims no more than it may |

mod answers;
mod blind;
mod opening;

use crate::support::{Cook, SIX_CHOPS};
use hobcall::kitchen::What;
use hobcall::tasting::{Code, Fact, Sheet, Tasting, Which};
use hobcall::voice::numbers;

/// Six chops, one of them marked.
fn one_marked() -> String {
    SIX_CHOPS
        .replace(
            "  notched chop: {of: chop, mark: a notch, mark seen: from above}\n",
            "",
        )
        .replace("[notched chop, 2 chops]", "3 chops")
        .replace("[test chop, notched chop]", "test chop")
}

fn kitchen() -> Cook {
    let mut cook = Cook::with(&one_marked());
    cook.state = cook.state.seeded(0x5EED_CAFE);
    cook
}

fn opened(words: &str) -> Cook {
    let mut cook = kitchen();
    cook.says(words);
    assert!(cook.state.is_tasting(), "{words}");
    cook
}

/// The key, taken from the facts in the journal: only a test may look.
fn sheet(cook: &Cook) -> Sheet {
    let facts: Vec<&Fact> = cook
        .events
        .iter()
        .filter_map(|e| match &e.what {
            What::Tasting(fact) => Some(fact),
            _ => None,
        })
        .collect();
    match Tasting::replay(facts).unwrap() {
        Some(Tasting::Open(open)) => open.plater_sheet(),
        Some(Tasting::Closed(closed)) => closed.sheet(),
        None => panic!("no tasting"),
    }
}

fn digits(code: Code) -> String {
    numbers::digits(f64::from(code.number()))
}

/// The odd code of a taster's three, and one of the two that are alike.
fn odd_and_other(sheet: &Sheet, taster: u16) -> (Code, Code) {
    let row = &sheet.rows[usize::from(taster) - 1];
    let of = |which| {
        let mut codes = row.servings.iter().filter(move |s| s.sample == which);
        (codes.next().unwrap().code, codes.next().is_none())
    };
    let (control, test) = (of(Which::Control), of(Which::Test));
    if control.1 {
        (control.0, test.0)
    } else {
        (test.0, control.0)
    }
}

fn taster(n: u16) -> String {
    format!("taster {}", numbers::plain(u64::from(n)))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().unwrap().to_uppercase().chain(chars).collect()
}
