//! Plans with a mark where the mistake is.

#![allow(dead_code)]

use hobcall::plan::{self, Checked, Problem};

/// A plan that reads clean but for what a test adds: chops, a skillet, a rack.
pub const KITCHEN: &str = "\
plan: A test
units: fahrenheit
items:
  chop: {pieces: 6, class: whole cut}
samples:
  test chop: {of: chop}
vessels:
  skillet: {kind: skillet, places: left middle right}
  second skillet: {kind: skillet, places: grid 2 x 2}
  rack: {kind: rack}
steps:
";

/// One item with this line, and a step so that the plan is whole.
pub fn item(line: &str) -> String {
    format!(
        "plan: A test\nunits: fahrenheit\nitems:\n  loaf: {{{line}}}\nsteps:\n  stir: {{say: Stir.}}\n"
    )
}

/// One vessel with this line, and a step that is in it.
pub fn vessel(line: &str) -> String {
    format!(
        "plan: A test\nunits: celsius\nvessels:\n  pan: {{{line}}}\nsteps:\n  stir: {{say: Stir., vessel: pan}}\n"
    )
}

/// This line at the top of a whole plan.
pub fn top(line: &str) -> String {
    format!("plan: A test\nunits: celsius\n{line}\nsteps:\n  stir: {{say: Stir.}}\n")
}

/// Takes `«` out of the text and gives its line and column, both from 1.
pub fn marked(text: &str) -> (String, usize, usize) {
    let at = text.find('«').expect("the test marks a place with «");
    let before = &text[..at];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap().chars().count() + 1;
    (text.replacen('«', "", 1), line, column)
}

pub fn problems(text: &str) -> Vec<Problem> {
    match plan::read(text, "plan.yaml") {
        Ok(checked) => panic!("no problem found in:\n{text}\n{:#?}", checked.plan),
        Err(problems) => problems,
    }
}

/// The text has exactly one problem: at the mark, with these words in what is wrong
/// and in what to write.
#[track_caller]
pub fn only(text: &str, what: &str, write: &str) {
    let (text, line, column) = marked(text);
    let found = problems(&text);
    let all: Vec<String> = found.iter().map(ToString::to_string).collect();
    let all = all.join("\n");
    assert_eq!(found.len(), 1, "more than one problem:\n{all}");
    let problem = &found[0];
    assert_eq!((problem.line, problem.column), (line, column), "{all}");
    assert!(problem.what.contains(what), "{all}");
    assert!(problem.write_instead.contains(write), "{all}");
}

/// `only`, with the steps given and the kitchen before them.
#[track_caller]
pub fn only_steps(steps: &str, what: &str, write: &str) {
    only(&format!("{KITCHEN}{steps}"), what, write);
}

#[track_caller]
pub fn clean(text: &str) -> Checked {
    match plan::read(text, "plan.yaml") {
        Ok(checked) => checked,
        Err(problems) => {
            let all: Vec<String> = problems.iter().map(ToString::to_string).collect();
            panic!("{}", all.join("\n"));
        }
    }
}

#[track_caller]
pub fn clean_steps(steps: &str) -> Checked {
    clean(&format!("{KITCHEN}{steps}"))
}
