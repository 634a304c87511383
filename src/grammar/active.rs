//! Which public rules may be said now.

/// A choice of public rules. The fewer there are, the less can be misheard.
///
/// The grammars of this project name their public rules alike in every language:
/// `<talking>` is what can be said at any time, `<answering>` what makes sense only
/// while a question is open, `<asleep>` the one thing that wakes the tool up.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct ActiveSet {
    rules: Vec<String>,
}

impl ActiveSet {
    /// Calls at the stove, with no question open.
    pub fn awake() -> Self {
        Self::rules(["talking"])
    }

    /// While a question is open: bare names, places and numbers as well.
    pub fn answering() -> Self {
        Self::rules(["talking", "answering"])
    }

    /// After "hold on".
    pub fn asleep() -> Self {
        Self::rules(["asleep"])
    }

    /// Public rules by name, for grammars with a division of their own.
    pub fn rules<S: Into<String>>(names: impl IntoIterator<Item = S>) -> Self {
        ActiveSet {
            rules: names.into_iter().map(Into::into).collect(),
        }
    }

    pub fn names(&self) -> &[String] {
        &self.rules
    }
}
