//! JSON, tables, corrections of the plan, and the command that writes them.

use std::fs;
use std::path::Path;

use hobcall::plan;
use hobcall::record::{self, Args};

use crate::stove::{CHOPS, Stove, cooked, fold, story};

#[test]
fn the_journal_comes_back_from_the_json() {
    let folder = tempfile::tempdir().expect("a folder");
    let stove = cooked(folder.path(), "a.journal", 0);
    let cook = stove.read();
    let text = record::to_json(&cook, &story(&stove)).expect("JSON");
    let back = record::from_json(&text).expect("a record");
    assert_eq!(back, cook, "every event, session and the plan");
    assert!(fold(&back).is_like(&stove.state));
    assert!(cook.events.len() > 30, "{} events", cook.events.len());

    let gone = text.replacen("\"n\": 3,", "\"n\": 4,", 1);
    assert!(matches!(
        record::from_json(&gone),
        Err(record::NotARecord::Gap {
            found: 4,
            expected: 3
        })
    ));
    let newer = text.replacen("\"record\": 1", "\"record\": 2", 1);
    assert!(matches!(
        record::from_json(&newer),
        Err(record::NotARecord::Version { found: 2 })
    ));
    assert!(record::from_json("{}").is_err());
}

#[test]
fn the_tables_read_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let stove = cooked(folder.path(), "a.journal", 0);
    let story = story(&stove);
    let sheets = record::sheets(&story).expect("tables");
    for (name, text) in &sheets {
        let mut reader = csv::ReaderBuilder::new().from_reader(text.as_bytes());
        let width = reader.headers().expect("a header").len();
        for record in reader.records() {
            let record = record.unwrap_or_else(|e| panic!("{name}: {e}"));
            assert_eq!(record.len(), width, "{name}");
        }
        // RFC 4180, section 2, rule 1: a line break is CRLF.
        assert_eq!(
            text.matches('\n').count(),
            text.matches("\r\n").count(),
            "{name}"
        );
    }
    let sheet = |name: &str| &sheets.iter().find(|s| s.0 == name).expect(name).1;
    assert!(sheet("readings.csv").contains("500.000,"));
    assert!(
        sheet("readings.csv").contains(",140,140,°F,60.00,60.00,0.00,62.78,"),
        "140 °F is 60 °C"
    );
    assert_eq!(sheet("calls.csv").lines().count(), story.lines.len() + 1);
    assert!(
        sheet("calls.csv").contains("\"Heard one three zero, left skillet."),
        "a comma is quoted"
    );
}

fn args(journals: &[&Path]) -> Args {
    Args {
        journals: journals.iter().map(|p| p.to_path_buf()).collect(),
        html: None,
        csv: None,
        json: None,
        correct: None,
        accept: None,
    }
}

fn ran(args: &Args) -> Result<String, String> {
    let mut out = Vec::new();
    record::run(args, &mut out).map_err(|e| e.to_string())?;
    Ok(String::from_utf8(out).expect("text"))
}

#[test]
fn the_command_writes_what_is_asked_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let stove = cooked(folder.path(), "a.journal", 0);
    ran(&args(&[&stove.path])).expect("the page beside the journal");
    let page = fs::read_to_string(folder.path().join("a.html")).expect("it is there");
    assert!(page.starts_with("<!DOCTYPE html>"));

    let mut all = args(&[&stove.path]);
    all.json = Some(folder.path().join("out/a.json"));
    all.csv = Some(folder.path().join("out/a"));
    ran(&all).expect("JSON and tables");
    let json = fs::read_to_string(folder.path().join("out/a.json")).expect("it is there");
    assert_eq!(record::from_json(&json).expect("a record"), stove.read());
    assert!(folder.path().join("out/a/readings.csv").exists());

    all.journals.push(stove.path.clone());
    let why = ran(&all).expect_err("JSON of two cooks");
    assert!(why.contains("one journal"), "{why}");
    let none = ran(&args(&[&folder.path().join("none.journal")])).expect_err("no file");
    assert!(none.contains("none.journal"), "{none}");
    let before = fs::read(&stove.path).expect("bytes");
    fs::write(folder.path().join("x.journal"), "no journal\n").expect("a file");
    let wrong = ran(&args(&[&folder.path().join("x.journal")])).expect_err("no journal");
    assert!(wrong.contains("not a Hobcall journal"), "{wrong}");
    assert_eq!(fs::read(&stove.path).expect("bytes"), before, "only read");
}

#[test]
fn a_plan_is_corrected_only_where_the_cook_accepts() {
    let folder = tempfile::tempdir().expect("a folder");
    let stove = cooked(folder.path(), "a.journal", 0);
    let path = folder.path().join("chops.yaml");
    fs::write(&path, CHOPS).expect("a plan");
    let mut correct = args(&[&stove.path]);
    correct.correct = Some(path.clone());

    // Flips at 2:05, 4:15 and 6:35 after the food went in: the middle gap is 2:10, near
    // enough to the plan's two minutes. The right pan took 16:20 where twelve were the most.
    let said = ran(&correct).expect("proposals");
    assert!(
        said.contains(
            "1. fry right took 16 min, the plan says 9 min .. 12 min: update to 9 min .. 16 min?"
        ),
        "{said}"
    );
    assert!(!said.contains("2. "), "{said}");
    assert!(
        said.contains("-    until: {time: \"9 min .. 12 min\"}"),
        "{said}"
    );
    assert!(
        said.contains("+    until: {time: 9 min .. 16 min}"),
        "{said}"
    );
    assert_eq!(
        fs::read_to_string(&path).expect("plan"),
        CHOPS,
        "nothing changed yet"
    );

    correct.accept = Some("2".to_owned());
    let why = ran(&correct).expect_err("there is no second");
    assert!(why.contains("there are 1"), "{why}");
    correct.accept = Some("all".to_owned());
    ran(&correct).expect("accepted");
    let then = fs::read_to_string(&path).expect("plan");
    assert_eq!(
        then,
        CHOPS.replace("\"9 min .. 12 min\"", "9 min .. 16 min"),
        "the one value and nothing else"
    );
    correct.accept = None;
    let said = ran(&correct).expect("again");
    assert!(said.contains("nothing to correct"), "{said}");
}

#[test]
fn a_step_that_took_longer_than_the_plan_says_is_asked_about() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "\
plan: One chop
units: fahrenheit
items:
  chop: {pieces: 1, class: whole cut}
vessels:
  pan: {kind: skillet}
steps:
  fry left: {say: Fry, vessel: pan, holds: chop, takes: '30 min', until: {core: 145 F}}
  serving: {say: Serve, hands on: 2 min}
";
    let mut s = Stove::new(folder.path(), "a.journal", text);
    s.at(2270, "reading one fifty");
    s.at(2280, "pan done");
    s.at(2283, "yes");
    let plan = plan::read(text, "x").expect("good").plan;
    let asked = record::propose(&plan, &story(&s));
    let why: Vec<&str> = asked.iter().map(|p| p.why.as_str()).collect();
    assert_eq!(why, ["fry left took 38 min, the plan says 30 min"]);
    assert_eq!(
        record::accept(text, "x", &asked).expect("edited"),
        text.replace("'30 min'", "38 min")
    );
}

#[test]
fn neither_a_shorter_rest_nor_a_temperature_is_proposed() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "\
plan: One chop
units: fahrenheit
items:
  chop: {pieces: 1, class: whole cut}
vessels:
  pan: {kind: skillet}
  rack: {kind: rack}
steps:
  frying: {say: Fry, vessel: pan, holds: chop, until: {core: 145 F}, out to: rack, rest: 10 min .. 12 min}
  serving: {say: Serve, hands on: 2 min}
";
    let mut s = Stove::new(folder.path(), "a.journal", text);
    s.at(200, "reading one thirty");
    s.at(210, "pan done");
    s.at(215, "yes");
    s.at(260, "start the serving");
    s.at(262, "yes");
    s.at(400, "next");
    let story = story(&s);
    assert!(
        story.steps.iter().all(|s| s.ended.is_some()),
        "{:?}",
        story.steps
    );
    let plan = plan::read(text, "x").expect("good").plan;
    assert_eq!(record::propose(&plan, &story), []);
}
