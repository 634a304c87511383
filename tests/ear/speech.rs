//! Real speech, of people and of a synthesiser, through the whole ear: how sound comes in,
//! and where utterances begin and end. What is understood of it is in `hob`.

use crate::common::{fixture, hear_file, hear_samples, human, raw_samples, samples_of, words};
use hobcall::ear::FRAME;
use hobcall::grammar::{ActiveSet, Grammar};
use hobcall::voice::FliteVoice;
use hobcall::voice::flite::Flite;
use hobcall::voice::synth::Synth;

fn calls() -> Grammar {
    Grammar::of_language("en")
        .unwrap()
        .restricted(&ActiveSet::awake())
        .unwrap()
}

/// Two people: by the TIDIGITS convention the first file's name is what is said, z for
/// zero; `cards.transcription` beside the second has its words.
const DIGITS: [(&str, &str); 2] = [
    ("tidigits/dhd.2934z.raw", "two nine three four zero"),
    ("cards/004.wav", "five five"),
];

fn digits() -> Grammar {
    let text = "#JSGF V1.0;\ngrammar digits;\npublic <digits> = <digit>+;
         <digit> = one | two | three | four | five | six | seven | eight | nine | zero | oh;";
    Grammar::from_jsgf(text, "digits.jsgf").unwrap()
}

fn recording(name: &str) -> Vec<i16> {
    if name.ends_with(".raw") {
        raw_samples(&human(name))
    } else {
        samples_of(&human(name))
    }
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

#[test]
fn a_person_naming_cards_is_understood() {
    let text = std::fs::read_to_string(human("cards/cards.gram")).unwrap();
    // The file writes the header's V small, which the format does not.
    let text = text.replacen("#JSGF v", "#JSGF V", 1);
    let grammar = Grammar::from_jsgf(&text, "cards.gram").unwrap();
    for (file, said) in CARDS {
        assert_eq!(words(&hear_file(&grammar, &human(file))), said, "{file}");
    }
}

#[test]
fn speech_at_the_very_edges_of_a_file_is_heard() {
    let grammar = digits();
    for (file, said) in DIGITS {
        let all = recording(file);
        let heard = hear_samples(&grammar, &all);
        assert_eq!(words(&heard), said, "{file}");
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

/// Calls by the built-in voice, a second apart.
#[test]
fn several_utterances_in_one_stream_are_told_apart() {
    let mut voice = Flite::open(FliteVoice::Slt).unwrap();
    let calls_said = [
        "next",
        "timer ten minutes",
        "how long is left",
        "reading one sixty two",
    ];
    let mut all = Vec::new();
    let mut places = Vec::new();
    for call in calls_said {
        places.push(all.len());
        all.extend(voice.render(call, 1.0).unwrap());
        // No microphone gives exact zeros.
        all.extend([3; 16_000]);
    }
    let heard = hear_samples(&calls(), &all);
    assert_eq!(words(&heard), calls_said.join(" | "));
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
    let grammar = digits();
    let (file, said) = DIGITS[0];
    let samples = recording(file);
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
    let grammar = digits();
    let samples = recording(DIGITS[0].0);
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
    assert_eq!(words(&whole), DIGITS[0].1);
    assert_eq!(whole.len(), pieces.len());
    for (a, b) in whole.iter().zip(&pieces) {
        assert_eq!((&a.words, a.from, a.to), (&b.words, b.from, b.to));
        assert_eq!(a.confidence, b.confidence);
    }
}

#[test]
fn while_we_speak_nothing_is_heard_and_then_everything_is() {
    let grammar = digits();
    let (file, said) = DIGITS[1];
    let samples = recording(file);
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
