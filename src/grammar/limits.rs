//! How big a grammar may be. A hostile or runaway text is refused within
//! milliseconds instead of eating the memory of the kitchen's computer; an honest
//! command grammar stays far below every one of these.

/// Bytes of grammar text.
pub const TEXT_BYTES: usize = 1 << 20;
/// Rules in one text.
pub const RULES: usize = 10_000;
/// Brackets inside brackets.
pub const NESTING: usize = 50;
/// Expansions inside expansions while rules are put in place of their names; each
/// takes some of the thread's stack.
pub const DEPTH: usize = 250;
/// Tags and repeat signs on one expansion.
pub const WRAPS: usize = 16;
/// Characters of one word, rule name or tag.
pub const TOKEN_CHARS: usize = 500;
/// Words in one quoted token.
pub const QUOTED_WORDS: usize = 50;
/// States and arcs while expanding rules in place.
pub const STATES: usize = 150_000;
pub const ARCS: usize = 400_000;
/// Steps through silent arcs, each as many more as it carries tags: so many in any
/// case, and so many for each state. Beyond them the grammar is refused.
pub const SILENT_STEPS: usize = 200_000;
pub const SILENT_STEPS_A_STATE: usize = 60;
/// Arc visits while like states are merged. Beyond them the graph stays larger than
/// it need be.
pub const MERGE_STEPS: usize = 20_000_000;
/// Words in one sentence to be parsed.
pub const SENTENCE_WORDS: usize = 200;
/// Readings of one sentence that are told apart.
pub const PARSES: usize = 64;
