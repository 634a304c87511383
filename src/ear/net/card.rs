//! What comes with the network: its constants and the names of its inputs.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::features::BANDS;

/// `models/en.json`.
#[derive(Debug, Clone, Deserialize)]
pub struct Card {
    /// Names of the classes, the blank first.
    pub phones: Vec<String>,
    /// Of each band's logarithm over the training sound.
    pub mean: Vec<f32>,
    pub std: Vec<f32>,
    /// Feature frames for one answer.
    pub stride: usize,
    /// The answer that comes out belongs to this many feature frames ago.
    pub lookahead_frames: usize,
    /// Feature frames taken at a time.
    pub chunk_frames: usize,
    /// Memory from one piece to the next: name and shape. The input's name is `in_` and
    /// this, the output's `out_` and this; all zero at the start.
    pub caches: BTreeMap<String, Vec<usize>>,
}

impl Card {
    /// # Errors
    /// The text is not such a card, or its figures contradict each other.
    pub fn read(text: &str) -> Result<Self, String> {
        let card: Card = serde_json::from_str(text).map_err(|e| e.to_string())?;
        if card.mean.len() != BANDS || card.std.len() != BANDS {
            return Err(format!(
                "mean and std must have {BANDS} numbers, not {} and {}",
                card.mean.len(),
                card.std.len()
            ));
        }
        if card.stride == 0
            || card.chunk_frames == 0
            || !card.chunk_frames.is_multiple_of(card.stride)
        {
            return Err("chunk_frames must be a multiple of stride".to_owned());
        }
        if !card.lookahead_frames.is_multiple_of(card.stride) {
            return Err("lookahead_frames must be a multiple of stride".to_owned());
        }
        if card.phones.len() < 2 {
            return Err("phones are missing".to_owned());
        }
        Ok(card)
    }
}
