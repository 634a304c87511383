//! What Vosk answers, read from its JSON.

use serde::Deserialize;

#[derive(Debug, Default, Deserialize)]
struct Json {
    #[serde(default)]
    text: String,
    #[serde(default)]
    partial: String,
    #[serde(default)]
    alternatives: Vec<Alternative>,
}

#[derive(Debug, Deserialize)]
struct Alternative {
    text: String,
    confidence: f32,
}

/// Sentences, best first, with a score that means something only among them.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    pub found: Vec<(String, f32)>,
    /// Whether the library told scores; a bare text has none.
    pub scored: bool,
}

impl Default for Answer {
    fn default() -> Self {
        Self {
            found: Vec::new(),
            scored: true,
        }
    }
}

impl Answer {
    /// From a result; one that cannot be read counts as nothing heard.
    pub fn read(json: &str) -> Self {
        let json: Json = serde_json::from_str(json).unwrap_or_default();
        let mut found: Vec<(String, f32)> = json
            .alternatives
            .into_iter()
            .map(|a| (tidy(&a.text), a.confidence))
            .collect();
        let mut scored = true;
        if found.is_empty() {
            scored = false;
            let text = if json.text.is_empty() {
                json.partial
            } else {
                json.text
            };
            found.push((tidy(&text), 0.0));
        }
        found.retain(|(text, score)| !text.is_empty() && score.is_finite());
        Self {
            scored: scored || found.is_empty(),
            found,
        }
    }

    pub fn best(&self) -> &str {
        self.found.first().map_or("", |(text, _)| text)
    }

    /// Score of the best.
    pub fn score(&self) -> f32 {
        self.found.first().map_or(0.0, |(_, score)| *score)
    }

    /// What came first, then what follows: two pieces of one utterance.
    pub fn then(self, next: Answer) -> Self {
        match (self.found.is_empty(), next.found.is_empty()) {
            (true, _) => next,
            (_, true) => self,
            _ => Self {
                found: vec![(
                    format!("{} {}", self.best(), next.best()),
                    self.score() + next.score(),
                )],
                scored: self.scored && next.scored,
            },
        }
    }
}

fn tidy(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The shapes that version 0.3.45 was seen to answer.
    #[test]
    fn every_shape_of_answer_is_read() {
        let list = r#"{"alternatives": [
            {"confidence": 211.5, "text": " left  right"}, {"confidence": 198.25, "text": "left"}]}"#;
        assert_eq!(
            Answer::read(list).found,
            [
                ("left right".to_owned(), 211.5),
                ("left".to_owned(), 198.25)
            ]
        );
        assert!(Answer::read(list).scored);
        let bare = Answer::read(r#"{"text": "stop", "result": [{"conf": 1.0, "word": "stop"}]}"#);
        assert_eq!(bare.best(), "stop");
        assert!(!bare.scored);
        assert_eq!(Answer::read(r#"{"partial": "st"}"#).best(), "st");
        for nothing in ["", "{", "[]", r#"{"text": ""}"#, r#"{"alternatives": []}"#] {
            assert_eq!(Answer::read(nothing), Answer::default(), "{nothing}");
        }
    }

    #[test]
    fn pieces_are_joined() {
        let answer = |t: &str| Answer::read(&format!(r#"{{"text": "{t}"}}"#));
        assert_eq!(answer("reading").then(answer("one")).best(), "reading one");
        assert_eq!(answer("").then(answer("one")).best(), "one");
        assert_eq!(answer("one").then(answer("")).best(), "one");
    }
}
