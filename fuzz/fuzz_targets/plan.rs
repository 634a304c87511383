//! Any bytes are a plan or a list of problems that point into the file.
//!
//! `cargo fuzz run -s none plan fuzz/corpus/plan plans` starts from the shipped plans.

#![no_main]

use hobcall::plan;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let lines: Vec<&str> = text
        .strip_prefix('\u{feff}')
        .unwrap_or(&text)
        .split('\n')
        .collect();
    let inside = |problem: &plan::Problem| {
        let width = lines[problem.line - 1].chars().count();
        assert!((1..=width + 1).contains(&problem.column), "{problem}");
    };
    match plan::read_bytes(bytes, "plan.yaml") {
        Ok(checked) => {
            checked.warnings.iter().for_each(inside);
            assert!(!checked.plan.steps.is_empty());
            assert!(!plan::print(&checked.plan).is_empty());
        }
        Err(problems) => {
            assert!(!problems.is_empty());
            problems.iter().for_each(inside);
        }
    }
});
