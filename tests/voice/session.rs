//! The recorded session is what it says it is: calls of the grammar, at the times of its
//! truth list, 30 dB above its noise.

use std::path::PathBuf;
use std::sync::Arc;

use hobcall::grammar::Grammar;
use hobcall::plan;
use symphonia::core::formats::probe::Hint;
use symphonia::core::io::MediaSourceStream;

fn fixture(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("audio-fixtures")
        .join(name)
}

fn table(name: &str) -> Vec<Vec<String>> {
    std::fs::read_to_string(fixture(name))
        .unwrap()
        .lines()
        .filter(|l| !l.starts_with('#'))
        .map(|l| l.split('\t').map(str::to_owned).collect())
        .collect()
}

fn sound() -> Vec<i16> {
    let file = Box::new(std::fs::File::open(fixture("session.flac")).unwrap());
    let stream = MediaSourceStream::new(file, Default::default());
    let mut format = symphonia::default::get_probe()
        .probe(&Hint::new(), stream, Default::default(), Default::default())
        .unwrap();
    let track = format.tracks().first().unwrap().clone();
    let params = track.codec_params.as_ref().unwrap().audio().unwrap();
    assert_eq!(params.sample_rate, Some(16_000));
    assert_eq!(params.channels.as_ref().map(|c| c.count()), Some(1));
    let mut decoder = symphonia::default::get_codecs()
        .make_audio_decoder(params, &Default::default())
        .unwrap();
    let mut out = Vec::new();
    while let Ok(Some(packet)) = format.next_packet() {
        let mut part: Vec<i16> = Vec::new();
        decoder
            .decode(&packet)
            .unwrap()
            .copy_to_vec_interleaved(&mut part);
        out.extend(part);
    }
    out
}

#[test]
fn every_line_is_one_call_of_the_plan() {
    let text = std::fs::read_to_string(
        PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("plans/pork-chops-two-brines.yaml"),
    )
    .unwrap();
    let plan = plan::read(&text, "pork-chops-two-brines.yaml")
        .unwrap_or_else(|p| panic!("{p:?}"))
        .plan;
    let grammar = Grammar::for_plan("en", &Arc::new(plan)).unwrap();
    let calls = table("session.calls");
    assert!(calls.len() >= 25, "{}", calls.len());
    for row in &calls {
        let heard = grammar.calls(&row[1]);
        assert_eq!(heard.len(), 1, "{}: {heard:?}", row[1]);
    }
    let mut voices: Vec<&str> = calls.iter().map(|r| r[0].as_str()).collect();
    voices.sort_unstable();
    voices.dedup();
    assert_eq!(voices, ["esp", "rms", "slt"]);
}

#[test]
fn the_tables_agree_with_each_other() {
    let (calls, laid, truth) = (
        table("session.calls"),
        table("session.tsv"),
        table("session.truth.tsv"),
    );
    assert_eq!(laid.len(), calls.len() + 1);
    assert_eq!(truth.len(), calls.len());
    let mut last = 0.0;
    for ((call, at), real) in calls.iter().zip(&laid).zip(&truth) {
        assert_eq!(call[..], at[1..]);
        assert_eq!(call[..], real[2..]);
        let asked: f64 = at[0].parse().unwrap();
        let (from, to): (f64, f64) = (real[0].parse().unwrap(), real[1].parse().unwrap());
        assert!((asked - from).abs() < 0.001);
        assert!(
            from > last && to > from + 0.2 && to < from + 4.0,
            "{real:?}"
        );
        last = to;
    }
}

#[test]
fn the_sound_has_the_calls_where_the_list_says_and_30_db_of_distance() {
    assert!(std::fs::metadata(fixture("session.flac")).unwrap().len() < 4_000_000);
    let sound = sound();
    let truth = table("session.truth.tsv");
    let power = |s: &[i16]| s.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / s.len() as f64;
    // Frames of 10 ms that sound, as the level of speech is measured (ITU-T P.56 in spirit:
    // pauses inside a call do not count).
    let (mut speech, mut noise) = (Vec::new(), Vec::new());
    let mut at = 0;
    for row in &truth {
        let (from, to): (f64, f64) = (row[0].parse().unwrap(), row[1].parse().unwrap());
        let (from, to) = ((from * 16_000.0) as usize, (to * 16_000.0) as usize);
        noise.push(power(&sound[at..from]));
        let mut frames: Vec<f64> = sound[from..to].chunks(160).map(power).collect();
        let loudest = frames.iter().copied().fold(0.0, f64::max);
        frames.retain(|p| *p > loudest * 0.0025);
        speech.push(frames.iter().sum::<f64>() / frames.len() as f64);
        at = to;
    }
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let apart = 10.0 * (mean(&speech) / mean(&noise)).log10();
    assert!((28.0..33.0).contains(&apart), "{apart:.1} dB");
    // Each call on its own as well: none is buried, none shouts.
    for (row, power) in truth.iter().zip(&speech) {
        let level = 10.0 * (power / mean(&speech)).log10();
        assert!(level.abs() < 2.0, "{row:?}: {level:.1} dB from the mean");
    }
    assert!(sound.iter().all(|s| s.unsigned_abs() < 32_000));
}
