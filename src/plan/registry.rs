//! Every spoken name of a plan, so that no two things answer to the same call.

use std::collections::BTreeMap;

use super::model::Id;
use super::names::{self, short};
use super::problem::{Desk, Fault, Mark, nearest};
use super::table::Table;
use super::tree::Entry;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Item,
    Sample,
    Vessel,
    Step,
}

impl Kind {
    pub(super) fn words(self) -> &'static str {
        match self {
            Kind::Item => "an item",
            Kind::Sample => "a sample",
            Kind::Vessel => "a vessel",
            Kind::Step => "a step",
        }
    }

    pub(super) fn bare(self) -> &'static str {
        self.words().split(' ').next_back().unwrap_or_default()
    }

    pub(super) fn section(self) -> &'static str {
        match self {
            Kind::Item => "items",
            Kind::Sample => "samples",
            Kind::Vessel => "vessels",
            Kind::Step => "steps",
        }
    }
}

struct Known {
    kind: Kind,
    id: Id,
    name: String,
    at: Mark,
}

pub(super) struct Registry {
    language: String,
    /// By how it sounds.
    known: BTreeMap<String, Known>,
    /// Unreadable names: a reference to one is not a second mistake.
    lost: Vec<String>,
}

const MOST_NAMES: usize = 6;

impl Registry {
    pub(super) fn language(&self) -> &str {
        &self.language
    }

    pub(super) fn new(language: &str) -> Registry {
        Registry {
            language: language.to_owned(),
            known: BTreeMap::new(),
            lost: Vec::new(),
        }
    }

    /// Takes in the key of a thing. Returns its identifier even when the name is
    /// refused, so that the rest of the thing can be checked.
    pub(super) fn enter(&mut self, kind: Kind, entry: &Entry, desk: &mut Desk<'_>) -> (Id, String) {
        match names::spoken(&entry.key, &self.language) {
            Ok(name) => {
                let id = names::id(&name);
                if !self.claim(kind, &id, &name, false, entry.at, desk) {
                    self.lost.push(names::sound(&name));
                }
                (id, name)
            }
            Err(fault) => {
                desk.fault(entry.at, fault);
                self.lost.push(names::sound(&entry.key));
                let name = short(&entry.key).to_lowercase();
                (names::id(&name), name)
            }
        }
    }

    /// The further names of a thing, from `also called`.
    pub(super) fn also_called(
        &mut self,
        kind: Kind,
        id: &Id,
        first: &str,
        table: &mut Table<'_>,
        desk: &mut Desk<'_>,
    ) -> Vec<String> {
        let mut all = vec![first.to_owned()];
        for (text, at) in table.texts("also called", desk) {
            match names::spoken(&text, &self.language) {
                Err(fault) => desk.fault(at, fault),
                Ok(name) if all.contains(&name) => desk.problem(
                    at,
                    format!("`{name}` is a name of this {} already", kind.bare()),
                    "it once",
                ),
                Ok(_) if all.len() >= MOST_NAMES => {
                    desk.problem(
                        at,
                        format!("more than {MOST_NAMES} names for one {}", kind.bare()),
                        "the names that you really say",
                    );
                    break;
                }
                Ok(name) => {
                    self.claim(kind, id, &name, true, at, desk);
                    all.push(name);
                }
            }
        }
        all
    }

    /// False, with a problem, when another thing answers to that sound. A `further` name
    /// may sound like the first one of its own thing ("chop", "chops").
    fn claim(
        &mut self,
        kind: Kind,
        id: &Id,
        name: &str,
        further: bool,
        at: Mark,
        desk: &mut Desk<'_>,
    ) -> bool {
        let sound = names::sound(name);
        if let Some(other) = self.known.get(&sound) {
            if further && other.id == *id && other.kind == kind {
                return true;
            }
            let alike = if other.name == name {
                format!("`{name}` is also the name of")
            } else {
                format!("`{name}` sounds like `{}`,", other.name)
            };
            desk.problem(
                at,
                format!("{alike} {} on line {}", other.kind.words(), other.at.line),
                format!("another name for this {}", kind.bare()),
            );
            return false;
        }
        self.known.insert(
            sound,
            Known {
                kind,
                id: id.clone(),
                name: name.to_owned(),
                at,
            },
        );
        true
    }

    /// The thing that `written` names. `Ok(None)` when it names something whose
    /// own entry is already reported as wrong.
    pub(super) fn find(&self, written: &str, kinds: &[Kind]) -> Result<Option<(Kind, Id)>, Fault> {
        let sound = names::sound(&written.replace('_', " "));
        if let Some(known) = self.known.get(&sound) {
            if kinds.contains(&known.kind) {
                return Ok(Some((known.kind, known.id.clone())));
            }
            let wanted: Vec<_> = kinds.iter().map(|k| k.words()).collect();
            return Err(Fault::new(
                format!(
                    "`{}` is {}, not {}",
                    short(written),
                    known.kind.words(),
                    wanted.join(" or ")
                ),
                self.offer(&sound, kinds),
            ));
        }
        if self.lost.contains(&sound) {
            return Ok(None);
        }
        let wanted: Vec<_> = kinds.iter().map(|k| k.bare()).collect();
        Err(Fault::new(
            format!("there is no {} `{}`", wanted.join(" or "), short(written)),
            self.offer(&sound, kinds),
        ))
    }

    fn offer(&self, sound: &str, kinds: &[Kind]) -> String {
        let fitting = || self.known.iter().filter(|(_, k)| kinds.contains(&k.kind));
        if let Some(meant) = nearest(sound, fitting().map(|(sound, _)| sound.as_str()))
            && let Some(known) = self.known.get(meant)
        {
            return known.name.clone();
        }
        let mut names: Vec<&Known> = fitting().map(|(_, known)| known).collect();
        names.sort_by_key(|known| known.at);
        let names: Vec<&str> = names.iter().take(8).map(|k| k.name.as_str()).collect();
        if names.is_empty() {
            let section = kinds.first().map_or("items", |k| k.section());
            format!("the thing under `{section}:` first, then its name here")
        } else {
            names.join(" or ")
        }
    }
}
