//! How a plan wants to be spoken to: `address` and `pronounce`.

use hobcall::plan::{self, Way};

fn plan_with(lines: &str) -> String {
    format!(
        "plan: Two teas
units: celsius
{lines}
items:
  tea egg: {{pieces: 2, class: egg, also called: tea eggs}}
vessels:
  donabe: {{kind: pot}}
steps:
  simmering:
    say: Eggs into the donabe.
    vessel: donabe
    holds: tea eggs
    wait: 8 min
"
    )
}

/// Problems as `line:column: what; write: instead`.
fn problems(lines: &str) -> Vec<String> {
    match plan::read(&plan_with(lines), "t") {
        Ok(_) => Vec::new(),
        Err(all) => all
            .iter()
            .map(|p| format!("{}:{}: {}; {}", p.line, p.column, p.what, p.write_instead))
            .collect(),
    }
}

#[test]
fn a_name_to_call_and_ways_to_say_words() {
    let text = plan_with(
        "address: The Chef
pronounce:
  Donabe: [doe nah bay, /D OW1 N AA B EH/]
  chef: [shef]",
    );
    let plan = plan::read(&text, "t").unwrap().plan;
    assert_eq!(plan.hearing.address.as_deref(), Some("chef"));
    let said: Vec<(&str, &[Way])> = plan
        .hearing
        .pronounce
        .iter()
        .map(|p| (p.word.as_str(), p.ways.as_slice()))
        .collect();
    let words = |w: &str| Way::Words(w.split(' ').map(str::to_owned).collect());
    assert_eq!(
        said,
        [
            (
                "donabe",
                &[words("doe nah bay"), Way::Phones("D OW1 N AA B EH".into())][..]
            ),
            ("chef", &[words("shef")][..]),
        ]
    );
    let page = plan::print(&plan);
    for line in [
        "Calls begin with \"chef\", until \"chef no name needed\"",
        "\"donabe\" is said doe nah bay or /D OW1 N AA B EH/",
    ] {
        assert!(page.contains(line), "{page}");
    }
    let plain = plan::read(&plan_with("hands: 1"), "t").unwrap().plan;
    assert_eq!(plain.hearing, plan::Hearing::default());
}

#[test]
fn what_cannot_be_said_so_is_a_problem_with_its_place() {
    for (lines, want) in [
        (
            "pronounce:\n  donabee: doe nah bay",
            "4:3: no name in the plan has the word `donabee`; donabe:",
        ),
        (
            "pronounce:\n  tea egg: tee egg",
            "4:3: no name in the plan has the word `tea egg`",
        ),
        (
            "pronounce:\n  donabe: /D OW N AX/",
            "4:11: `donabe`: `AX` is none of the 39 phones; phones between slashes: AA AE",
        ),
        (
            "pronounce:\n  donabe: [doe nah bay, d0nabe]",
            "4:25: `donabe`: `d0nabe` is no English word; words of the letters a to z",
        ),
        (
            "pronounce:\n  donabe: //",
            "4:11: `donabe`: no phones stand here; /G OW",
        ),
        (
            "pronounce:\n  donabe: [a, b, c, d, e]",
            "4:11: `donabe` has 5 ways to be said; one way, or a list of at most 4",
        ),
        (
            "pronounce: donabe",
            "3:12: `pronounce` is text; a word of a name on each line",
        ),
        ("address: one two three", "3:10: `address`: "),
        (
            "address: my good chef",
            "3:10: `address`: `my good chef` is long to say before each call; one word or two",
        ),
        (
            "address: tea",
            "3:10: `address`: `tea` sounds like the beginning of `tea egg`; a name that nothing",
        ),
        (
            "address: c3po",
            "3:10: `address`: the name `c3po` cannot be spoken",
        ),
        ("address: left", "3:10: `address`: the name `left` is"),
        (
            "language: ko\naddress: chef",
            "4:10: `address` is for English so far, and the plan is spoken in `ko`",
        ),
    ] {
        let found = problems(lines);
        assert!(
            found.iter().any(|p| p.starts_with(want)),
            "{lines}\nwanted {want}\nfound {found:#?}"
        );
    }
}
