//! What may be said now.

/// A choice of rules. The fewer there are, the less can be misheard.
///
/// The grammars of this project name these rules alike in every language: `<talking>` is
/// what can be said at any time, `<answering>` what makes sense only while a question is
/// open (with a rule of its own for each kind of answer), `<at_table>` what makes sense
/// only while a blind tasting is open, `<asleep>` the one thing that wakes the tool up.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct ActiveSet {
    rules: Vec<String>,
}

/// A kind of answer that an open question waits for. "Yes", "no", "cancel" and a
/// corrected number can be said at any time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Asked {
    /// A bare name, place or "both": "which pan?".
    Name,
    /// A bare number: "say the number again".
    Number,
    /// "same order", "reversed".
    Order,
    /// "clockwise", "counterclockwise".
    Way,
    /// "core", "oil".
    Kind,
}

impl Asked {
    fn rule(self) -> &'static str {
        match self {
            Asked::Name => "naming",
            Asked::Number => "numbering",
            Asked::Order => "ordering",
            Asked::Way => "directing",
            Asked::Kind => "choosing",
        }
    }
}

impl ActiveSet {
    /// Calls at the stove, with no question open.
    pub fn awake() -> Self {
        Self::rules(["talking"])
    }

    /// While any question is open: bare names, places, numbers and the rest as well.
    pub fn answering() -> Self {
        Self::rules(["talking", "answering"])
    }

    /// While a question is open that waits for answers of these kinds. A kind that the
    /// language has no words for is left out.
    pub fn asked(kinds: &[Asked]) -> Self {
        let kinds = kinds.iter().map(|k| k.rule());
        Self::rules(std::iter::once("talking").chain(kinds))
    }

    /// After "hold on".
    pub fn asleep() -> Self {
        Self::rules(["asleep"])
    }

    /// The same while a blind tasting is open: codes, and who says what. At other times
    /// three digits are a temperature.
    pub fn at_table(mut self) -> Self {
        self.rules.push("at_table".to_owned());
        self
    }

    /// The same where each call must begin with the name that the tool is called by. What
    /// answers an alarm or a question may be said without it, and everything may for a
    /// while after the name alone (`open`).
    pub fn by_name(mut self, open: bool) -> Self {
        let called = self.rules.iter().map(|rule| format!("called_{rule}"));
        let mut rules: Vec<String> = called.chain(["called".into(), "uncalled".into()]).collect();
        if open {
            rules.append(&mut self.rules);
        }
        ActiveSet { rules }
    }

    /// Rules by name, for grammars with a division of their own.
    pub fn rules<S: Into<String>>(names: impl IntoIterator<Item = S>) -> Self {
        ActiveSet {
            rules: names.into_iter().map(Into::into).collect(),
        }
    }

    pub fn names(&self) -> &[String] {
        &self.rules
    }
}
