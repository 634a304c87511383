//! The plans in `plans/` are what a cook starts from: they must read clean.

use hobcall::plan;

fn shipped() -> Vec<(String, plan::Checked)> {
    let mut plans = Vec::new();
    for entry in std::fs::read_dir("plans").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "yaml") {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let bytes = std::fs::read(&path).unwrap();
            match plan::read_bytes(&bytes, &name) {
                Ok(checked) => plans.push((name, checked)),
                Err(problems) => {
                    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
                    panic!("{}", lines.join("\n"));
                }
            }
        }
    }
    plans
}

#[test]
fn every_shipped_plan_reads_without_problem_or_warning() {
    for (name, checked) in shipped() {
        assert!(
            checked.warnings.is_empty(),
            "{name}: {:?}",
            checked.warnings
        );
    }
}
