//! The page: of a cook that ended, one that runs, one that was cut off, and of a tasting.

use std::fs;

use hobcall::journal;
use hobcall::kitchen::{Event, What};
use hobcall::record::{self, Ending};

use crate::html_faults::faults;
use crate::stove::{CHOPS, Stove, cooked, story};

#[test]
fn a_running_cook_and_a_torn_journal_have_a_record() {
    let folder = tempfile::tempdir().expect("a folder");
    // The stove keeps its journal open and locked all the while.
    let stove = cooked(folder.path(), "a.journal", 0);
    let running = story(&stove);
    assert!(matches!(running.ending, Ending::Open(_)));
    assert_eq!(running.torn, None);

    let bytes = fs::read(&stove.path).expect("bytes");
    let torn = folder.path().join("torn.journal");
    fs::write(&torn, &bytes[..bytes.len() - 17]).expect("a torn copy");
    let cook = journal::read::<Event>(&torn).expect("the good part");
    let story = record::story(&cook).expect("its plan is good");
    assert!(story.torn.is_some_and(|n| n > 0));
    let page = record::page(&[("torn.journal".to_owned(), story.clone())]);
    assert!(page.contains("has not been ended"), "said on the page");
    assert!(page.contains("was cut short"), "said on the page");
    let text = record::to_json(&cook, &story).expect("JSON");
    assert_eq!(record::from_json(&text).expect("a record"), cook);

    let nothing = Stove::new(folder.path(), "begun.journal", CHOPS);
    let story = record::story(&nothing.read()).expect("its plan is good");
    let page = record::page(&[("begun.journal".to_owned(), story)]);
    assert_eq!(faults(&page), Vec::<String>::new());
}

#[test]
fn the_page_is_html_stands_alone_and_shows_markup_as_text() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut stove = cooked(folder.path(), "a.journal", 0);
    let note = Event {
        at: stove.now,
        call: None,
        heard: Some("<img src=x onerror=alert(2)>".to_owned()),
        what: What::Noted {
            text: Some("crust </style></td><script>alert(3)</script> & \"dark\"".to_owned()),
        },
    };
    stove.journal.append(&[note]).expect("on the disk");
    let second = cooked(folder.path(), "b.journal", 120);
    let one = record::page(&[("a<i>.journal".to_owned(), story(&stove))]);
    let two = record::page(&[
        ("a.journal".to_owned(), story(&stove)),
        ("b.journal".to_owned(), story(&second)),
    ]);
    for page in [&one, &two] {
        assert_eq!(faults(page), Vec::<String>::new());
        for loads in ["url(", "@import"] {
            assert!(!page.to_lowercase().contains(loads), "{loads} in the page");
        }
        assert!(page.contains("&lt;script&gt;alert(1)"), "the mark, as text");
        assert!(page.contains("&lt;script&gt;alert(3)"), "the note, as text");
        let ids: Vec<&str> = page
            .split(" id=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        let mut once = ids.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), ids.len(), "{ids:?}");
    }
    // A time line, a curve for the left skillet, and maps with the marked piece.
    assert!(one.matches("<svg role=\"img\" aria-label=").count() >= 6);
    assert!(one.contains("left skillet: core readings"));
    assert!(
        one.contains("test chop: second side down"),
        "a map says the side"
    );
    assert!(one.contains("target 145 °F"));
    assert!(two.contains("Cook 2: fry left took 2 min longer."));
    assert!(
        !two.contains("seed"),
        "nothing on the page tells a blind code"
    );
}

#[test]
fn an_open_tasting_tells_nothing_and_a_closed_one_all() {
    use hobcall::tasting::{Tasting, Which};
    let folder = tempfile::tempdir().expect("a folder");
    let mut s = cooked(folder.path(), "a.journal", 0);
    s.at(1400, "triangle test with three tasters");
    s.at(1410, "serving sheet");
    s.at(1415, "yes");
    let open = story(&s);
    assert!(open.state.is_tasting());
    let page = record::page(&[("a.journal".to_owned(), open.clone())]);
    assert_eq!(faults(&page), Vec::<String>::new());
    assert!(page.contains("The tasting is open"));
    let Some(Tasting::Open(table)) = open.state.tasting() else {
        panic!("it is open")
    };
    // Only a test may look at the key.
    let sheet = table.plater_sheet();
    let odd = |taster: usize| {
        let servings = &sheet.rows[taster].servings;
        let count = |w: Which| servings.iter().filter(|s| s.sample == w).count();
        let found = servings.iter().find(|s| count(s.sample) == 1);
        found.expect("one is odd").code
    };
    let digits =
        |code: hobcall::tasting::Code| hobcall::voice::numbers::digits(f64::from(code.number()));
    let told = record::replay(&s.read()).expect("its plan is good");
    let plate = told.said.iter().find(|l| l.for_the_plater);
    let plate = plate.expect("a plate was said").text.clone();
    let sheets = record::sheets(&open).expect("tables");
    for text in sheets.iter().map(|s| &s.1).chain([&page]) {
        assert!(
            !text.contains(&plate),
            "what was said to whoever plates: {plate}"
        );
        assert!(!text.contains("seed"), "the seed");
    }

    let mut at = 1500;
    for (taster, name) in ["one", "two", "three"].into_iter().enumerate() {
        let said = format!("taster {name} {} is the odd one", digits(odd(taster)));
        s.at(at, &said);
        s.at(at + 5, "yes");
        at += 10;
    }
    s.at(at, "close the tasting");
    let closed = story(&s);
    assert!(!closed.state.is_tasting());
    let page = record::page(&[("a.journal".to_owned(), closed)]);
    assert_eq!(faults(&page), Vec::<String>::new());
    assert!(page.contains(&plate), "now the plates may be read");
    // Three of three by guessing alone: (1/3)^3 = 1/27 = 0.0370 (arithmetic).
    assert!(
        page.contains("3 of 3 answers right, 0 of them guesses"),
        "the count"
    );
    assert!(page.contains("0.0370"), "the chance");
}
