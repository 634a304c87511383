//! Names against the calls themselves: what the reader refuses is what the grammar hears.

use std::collections::BTreeSet;

use hobcall::grammar::{ActiveSet, Grammar};
use hobcall::plan;

fn named(name: &str, language: &str) -> Result<plan::Checked, Vec<plan::Problem>> {
    let text = format!(
        "plan: A test\nunits: celsius\nlanguage: {language}\nsteps:\n  \"{name}\": {{say: Do it.}}\n"
    );
    plan::read(&text, "plan.yaml")
}

/// Calls of at most three words, drawn from the grammar without any plan.
fn short_calls(language: &str) -> BTreeSet<String> {
    let grammar = Grammar::of_language(language).unwrap_or_else(|e| panic!("{e}"));
    let grammar = grammar
        .restricted(&ActiveSet::awake())
        .unwrap_or_else(|e| panic!("{e}"));
    (0..5_000)
        .map(|seed| grammar.sentence(seed))
        .filter(|s| (1..=3).contains(&s.split(' ').count()))
        .collect()
}

/// Were "next" the beginning of a name, the call would be answered before the name
/// is out; were it the whole name, nobody could tell the two apart.
#[test]
fn no_name_is_a_call_or_begins_with_one() {
    for (language, noun) in [("en", "pan"), ("ko", "팬")] {
        let calls = short_calls(language);
        assert!(calls.len() > 60, "only {} calls drawn", calls.len());
        let free: Vec<String> = calls
            .iter()
            .flat_map(|call| [call.clone(), format!("{call} {noun}")])
            .filter(|name| named(name, language).is_ok())
            .collect();
        assert!(free.is_empty(), "names that are calls: {free:#?}");
        assert!(named(noun, language).is_ok());
    }
}

#[test]
fn the_names_of_the_shipped_plans_are_no_calls() {
    for text in [
        include_str!("../../plans/pork-chops-two-brines.yaml"),
        include_str!("../../plans/overnight-lamb-shoulder.yaml"),
        include_str!("../../plans/two-caramels.yaml"),
    ] {
        let plan = plan::read(text, "plan.yaml").unwrap().plan;
        let grammar = Grammar::for_plan("en", &plan).unwrap_or_else(|e| panic!("{e}"));
        let awake = grammar
            .restricted(&ActiveSet::awake())
            .unwrap_or_else(|e| panic!("{e}"));
        let names = (plan.items.iter().flat_map(|x| &x.names))
            .chain(plan.samples.iter().flat_map(|x| &x.names))
            .chain(plan.vessels.iter().flat_map(|x| &x.names))
            .chain(plan.steps.iter().flat_map(|x| &x.names));
        for name in names {
            let words: Vec<&str> = name.split(' ').collect();
            for end in 1..=words.len() {
                let begun = words[..end].join(" ");
                assert!(!awake.accepts(&begun), "`{name}`: `{begun}` is a call");
            }
            // Every step can be finished, every vessel asked for, by its name.
            assert!(
                !grammar.calls(&format!("how long on the {name}")).is_empty(),
                "{name}"
            );
        }
    }
}
