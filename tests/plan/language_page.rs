//! The page about the plan language says what the reader does.

use hobcall::plan;

const PAGE: &str = include_str!("../../docs/plan-language.md");

/// The fenced blocks of one kind.
fn blocks(kind: &str) -> Vec<String> {
    let mut blocks = Vec::new();
    let mut inside: Option<String> = None;
    for line in PAGE.lines() {
        match (&mut inside, line.strip_prefix("```")) {
            (None, Some(info)) if info == kind => inside = Some(String::new()),
            (None, Some(info)) if !info.is_empty() => inside = None,
            (Some(text), None) => {
                text.push_str(line);
                text.push('\n');
            }
            (Some(text), Some(_)) => {
                blocks.push(std::mem::take(text));
                inside = None;
            }
            _ => {}
        }
    }
    blocks
}

#[test]
fn every_plan_on_the_page_reads_clean() {
    let plans = blocks("yaml");
    assert!(plans.len() >= 3);
    for text in plans {
        match plan::read(&text, "page") {
            Ok(checked) => assert!(checked.warnings.is_empty(), "{:?}", checked.warnings),
            Err(problems) => {
                let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
                panic!("{}\nin:\n{text}", lines.join("\n"));
            }
        }
    }
}

/// The keys that a table of the page explains: the first cell, each in backticks.
fn explained(heading: &str) -> Vec<String> {
    let section = PAGE.split(&format!("## {heading}\n")).nth(1).unwrap();
    let section = section.split("\n## ").next().unwrap();
    section
        .lines()
        .filter(|line| line.starts_with("| `"))
        .flat_map(|line| {
            let cell = line.split('|').nth(1).unwrap();
            cell.split('`')
                .skip(1)
                .step_by(2)
                .map(str::to_owned)
                .collect::<Vec<_>>()
        })
        .collect()
}

/// Asks the reader for its keys with one that is near to none.
fn known(text: &str) -> Vec<String> {
    let problems = plan::read(text, "plan.yaml").unwrap_err();
    let told = problems
        .iter()
        .find(|p| p.what.contains("knows no key"))
        .unwrap_or_else(|| panic!("{problems:?}"));
    let list = told.write_instead.strip_prefix("one of: ").unwrap();
    list.split(", ").map(str::to_owned).collect()
}

#[test]
fn every_key_is_explained_and_no_other() {
    let head = "plan: A test\nunits: celsius\n";
    let sections = [
        ("The plan itself", format!("{head}zzzzzz: 1\n")),
        ("Items", format!("{head}items: {{loaf: {{zzzzzz: 1}}}}\n")),
        (
            "Samples",
            format!("{head}samples: {{heel: {{zzzzzz: 1}}}}\n"),
        ),
        (
            "Vessels",
            format!("{head}vessels: {{tin: {{zzzzzz: 1}}}}\n"),
        ),
        ("Steps", format!("{head}steps: {{bake: {{zzzzzz: 1}}}}\n")),
        (
            "Tasting",
            format!("{head}steps: {{bake: {{say: A.}}}}\ntasting: {{zzzzzz: 1}}\n"),
        ),
        (
            "Ingredients",
            format!("{head}ingredients: {{rye: {{zzzzzz: 1}}}}\n"),
        ),
        (
            "Brine",
            format!("{head}steps: {{bake: {{brine: {{zzzzzz: 1}}}}}}\n"),
        ),
        (
            "Oil",
            format!("{head}steps: {{bake: {{oil: {{zzzzzz: 1}}}}}}\n"),
        ),
    ];
    for (heading, text) in sections {
        let mut page = explained(heading);
        let mut reader = known(&text);
        if heading == "Vessels" {
            // The second table explains the words behind `places`.
            page.retain(|key| reader.contains(key));
        }
        if heading == "Steps" {
            reader.extend(known(&format!(
                "{head}steps: {{bake: {{until: {{zzzzzz: 1}}}}}}\n"
            )));
        }
        page.sort();
        page.dedup();
        reader.sort();
        assert_eq!(page, reader, "{heading}");
    }
}

#[test]
fn the_messages_on_the_page_are_the_reader_s_own() {
    let text = "plan: Chops\nunits: fahrenheit\nvessels:\n  left skillet: {kind: skillet}\n\n\n\n\n\n\n\n\nsteps:\n  \
                brine:\n    say: A.\n  fry:\n    wait: 12\n    say: B.\n    vessel: skilet\n";
    let said: Vec<String> = plan::read(text, "chops.yaml")
        .unwrap_err()
        .iter()
        .map(|p| p.to_string().split_once(": ").unwrap().1.to_owned())
        .collect();
    let page: Vec<String> = blocks("text")[0]
        .lines()
        .map(|line| line.split_once(": ").unwrap().1.to_owned())
        .collect();
    assert_eq!(said, page);
}
