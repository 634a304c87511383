//! Any bytes are a grammar or an error with a place; a grammar that is taken says only
//! what it accepts, and its exported text is a grammar that says the same.

#![no_main]

use hobcall::grammar::Grammar;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(grammar) = Grammar::from_bytes(bytes, "x.jsgf") else {
        let text = String::from_utf8_lossy(bytes);
        for problem in Grammar::problems(&text, "x.jsgf") {
            assert!(!problem.to_string().is_empty());
        }
        return;
    };
    let sentences: Vec<String> = (0..8).map(|seed| grammar.sentence(seed)).collect();
    let whole = |s: &&String| !s.is_empty() && s.split(' ').count() < 20;
    for sentence in sentences.iter().filter(whole) {
        assert!(grammar.accepts(sentence), "{sentence:?} is not its own");
        assert!(!grammar.parse(sentence).is_empty(), "{sentence:?}");
        grammar.meanings(sentence);
        grammar.calls_typed(sentence);
        grammar.prefix(sentence);
    }
    let text = grammar.to_jsgf();
    let again = Grammar::from_jsgf(&text, "again.jsgf").unwrap_or_else(|e| panic!("{e}\n{text}"));
    for sentence in sentences.iter().filter(whole) {
        let lower = sentence.to_lowercase();
        assert!(again.accepts(&lower), "{sentence:?} is lost in\n{text}");
    }
});
