//! What was heard, whatever the grammar says: the likeliest class of every frame.

/// Follows a stream of frames.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FreePhones {
    /// Sum over frames of the likeliest class's log probability.
    pub score: f32,
    /// Phones heard, repeats and blanks taken out.
    pub phones: Vec<u8>,
    last: u8,
}

impl FreePhones {
    pub fn push(&mut self, logp: &[f32]) {
        let (class, best) = logp
            .iter()
            .copied()
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0, 0.0));
        self.score += best;
        let class = class as u8;
        if class != 0 && class != self.last {
            self.phones.push(class);
        }
        self.last = class;
    }
}
