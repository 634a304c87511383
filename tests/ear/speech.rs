//! Real speech, of people and of a synthesiser, through the whole ear with
//! PocketSphinx. Nothing is simulated: library and model are the installed ones.

use crate::common::{fixture, hear_file, hear_samples, human, raw_samples, samples_of, words};
use hobcall::ear::{FRAME, Listening};
use hobcall::grammar::{ActiveSet, Grammar};

fn jsgf(text: &str) -> Grammar {
    Grammar::from_jsgf(&format!("#JSGF V1.0;\ngrammar test;\n{text}"), "test.jsgf").unwrap()
}

fn calls() -> Grammar {
    Grammar::of_language("en")
        .unwrap()
        .restricted(&ActiveSet::awake())
        .unwrap()
}

/// The cards of the test data and what is said on them, by the file
/// `cards.transcription` beside them.
const CARDS: [(&str, &str); 5] = [
    ("cards/001.wav", "ten of clubs"),
    ("cards/002.wav", "four queen of clubs"),
    ("cards/003.wav", "seven of clubs"),
    ("cards/004.wav", "five five"),
    (
        "cards/005.wav",
        "eight of spades four of clubs seven of hearts",
    ),
];

fn cards() -> Grammar {
    let text = std::fs::read_to_string(human("cards/cards.gram")).unwrap();
    // The file writes the header's V small, which the format does not.
    let text = text.replacen("#JSGF v", "#JSGF V", 1);
    Grammar::from_jsgf(&text, "cards.gram").unwrap()
}

#[test]
fn a_person_naming_cards_is_understood() {
    let grammar = cards();
    for (file, said) in CARDS {
        assert_eq!(words(&hear_file(&grammar, &human(file))), said, "{file}");
    }
}

#[test]
fn people_saying_digits_and_numbers_are_understood() {
    let digits = jsgf(
        "public <digits> = <digit>+;
         <digit> = one | two | three | four | five | six | seven | eight | nine | zero | oh;",
    );
    // `dhd.2934z`: the file is named by the TIDIGITS convention, z for zero.
    let heard = hear_samples(&digits, &raw_samples(&human("tidigits/dhd.2934z.raw")));
    assert_eq!(words(&heard), "two nine three four zero");
    // Our own numbers, in our own grammar's wordings. The test of the library itself
    // expects these words of the file.
    let forward = jsgf(
        "public <move> = go (forward | backward) <n> (meter | meters);
         <n> = one | two | three | four | five | six | seven | eight | nine | ten;",
    );
    let heard = hear_samples(&forward, &raw_samples(&human("goforward.raw")));
    assert_eq!(words(&heard), "go forward ten meters");
}

#[test]
fn a_person_reading_a_novel_makes_no_call() {
    let grammar = calls();
    let mut called = Vec::new();
    for n in ["0870", "0880", "0890", "0920", "0930"] {
        let file = format!("librivox/sense_and_sensibility_01_austen_64kb-{n}.wav");
        let heard = hear_file(&grammar, &human(&file));
        assert!(!heard.is_empty(), "{file}: speech was not even noticed");
        called.extend(heard.into_iter().filter(|h| !h.words.is_empty()));
    }
    assert!(called.is_empty(), "{called:?}");
}

#[test]
fn speech_at_the_very_edges_of_a_file_is_heard() {
    let grammar = cards();
    for (file, said) in CARDS {
        let all = samples_of(&human(file));
        let heard = hear_samples(&grammar, &all);
        let (from, to) = (heard[0].from, heard[heard.len() - 1].to);
        let at = |seconds: f64| ((seconds * 16_000.0) as usize).min(all.len());
        let tight = &all[at(from)..at(to)];
        assert_eq!(
            words(&hear_samples(&grammar, tight)),
            said,
            "{file}, cut to the words"
        );
    }
}

#[test]
fn several_utterances_in_one_stream_are_told_apart() {
    let grammar = cards();
    let pause = vec![0; 16_000];
    let mut all = Vec::new();
    let mut places = Vec::new();
    for (file, _) in CARDS {
        places.push(all.len());
        all.extend(samples_of(&human(file)));
        all.extend(&pause);
    }
    let heard = hear_samples(&grammar, &all);
    let said: Vec<&str> = CARDS.iter().map(|(_, said)| *said).collect();
    assert_eq!(words(&heard), said.join(" | "));
    for (h, start) in heard.iter().zip(places) {
        let start = start as f64 / 16_000.0;
        assert!(
            h.from >= start && h.from < start + 1.0,
            "{h:?} from {start}"
        );
        assert!(h.to > h.from && h.decided_after > 0.0);
        assert_eq!(h.alternatives[0].words, h.words);
        assert!(h.confidence > 0.3 && h.confidence <= 1.0);
    }
}

/// Files as others write them: rates down to a telephone's, depths, channels.
#[test]
fn every_usual_kind_of_file_sounds_the_same() {
    let grammar = cards();
    let (file, said) = CARDS[1];
    let samples = samples_of(&human(file));
    let dir = tempfile::tempdir().unwrap();
    let specs = [
        (8_000, 1, 16, hound::SampleFormat::Int),
        (8_000, 2, 24, hound::SampleFormat::Int),
        (16_000, 1, 8, hound::SampleFormat::Int),
        (44_100, 2, 16, hound::SampleFormat::Int),
        (48_000, 1, 24, hound::SampleFormat::Int),
        (48_000, 4, 32, hound::SampleFormat::Int),
        (96_000, 2, 32, hound::SampleFormat::Float),
    ];
    for (sample_rate, channels, bits_per_sample, sample_format) in specs {
        let path = dir.path().join("kind.wav");
        let spec = hound::WavSpec {
            sample_rate,
            channels,
            bits_per_sample,
            sample_format,
        };
        let mut file = hound::WavWriter::create(&path, spec).unwrap();
        let length = samples.len() as f64 / 16_000.0 * f64::from(sample_rate);
        for n in 0..length as usize {
            // Straight lines between samples are enough: what they add lies above 8 kHz.
            let at = n as f64 * 16_000.0 / f64::from(sample_rate);
            let (a, b) = (
                samples[at as usize],
                *samples.get(at as usize + 1).unwrap_or(&0),
            );
            let x = (f64::from(a) + at.fract() * (f64::from(b) - f64::from(a))) / 32_768.0;
            for _ in 0..channels {
                match sample_format {
                    hound::SampleFormat::Float => file.write_sample(x as f32).unwrap(),
                    hound::SampleFormat::Int => {
                        let scale = (1_i64 << (bits_per_sample - 1)) as f64;
                        file.write_sample((x * scale) as i32).unwrap();
                    }
                }
            }
        }
        file.finalize().unwrap();
        assert_eq!(words(&hear_file(&grammar, &path)), said, "{spec:?}");
    }
}

/// 48 kHz, 24 bit, stereo FLAC of a synthesiser (flite, voice slt).
#[test]
fn a_flac_file_of_a_reading_becomes_the_call() {
    let grammar = calls();
    let heard = hear_file(&grammar, &fixture("reading-one-sixty-two.flac"));
    assert_eq!(words(&heard), "reading one sixty two");
    let call = grammar.calls(&heard[0].words);
    let json = serde_json::to_value(&call[0]).unwrap();
    assert_eq!(json["call"], "reading");
}

/// The answer does not depend on the size of the pieces that a source delivers.
#[test]
fn pieces_of_any_size_are_heard_alike() {
    let grammar = cards();
    let samples = samples_of(&human(CARDS[4].0));
    let whole = {
        let mut heard = Vec::new();
        let mut listener = crate::common::listener(&grammar);
        let mut on = |e| {
            if let hobcall::ear::EarEvent::Heard(h) = e {
                heard.push(h);
            }
        };
        listener.feed(&samples, false, &mut on);
        listener.end(&mut on);
        heard
    };
    let pieces = hear_samples(&grammar, &samples);
    assert_eq!(whole.len(), pieces.len());
    for (a, b) in whole.iter().zip(&pieces) {
        assert_eq!((&a.words, a.from, a.to), (&b.words, b.from, b.to));
        assert_eq!(a.confidence, b.confidence);
    }
}

#[test]
fn while_we_speak_nothing_is_heard_and_then_everything_is() {
    let grammar = cards();
    let (file, said) = CARDS[2];
    let samples = samples_of(&human(file));
    let mut listener = crate::common::listener(&grammar);
    let mut heard = Vec::new();
    let mut on = |e| {
        if let hobcall::ear::EarEvent::Heard(h) = e {
            heard.push(h);
        }
    };
    listener.feed(&samples, true, &mut on);
    listener.feed(&vec![0; 8 * FRAME], true, &mut on);
    listener.feed(&samples, false, &mut on);
    listener.feed(&vec![0; 16_000], false, &mut on);
    assert_eq!(words(&heard), said);
    assert!(heard[0].from > samples.len() as f64 / 16_000.0);
}
