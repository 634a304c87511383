//! The grammars that come with the program, and the plan's own names in them.

use super::error::{Error, Pos, Result};
use super::jsgf::{self, Node, Source};
use super::typed;
use crate::plan::{Layout, Plan};

const LANGUAGES: [(&str, &str, &str); 2] = [
    ("en", "en.jsgf", include_str!("../../grammars/en.jsgf")),
    ("ko", "ko.jsgf", include_str!("../../grammars/ko.jsgf")),
];

/// File name and text of the grammar for a language tag (`en`, `en-US`).
pub fn embedded(language: &str) -> Result<(&'static str, &'static str)> {
    let primary = language.split(['-', '_']).next().unwrap_or(language);
    LANGUAGES
        .iter()
        .find(|(tag, ..)| tag.eq_ignore_ascii_case(primary))
        .map(|(_, file, text)| (*file, *text))
        .ok_or_else(|| {
            let known: Vec<&str> = LANGUAGES.iter().map(|(tag, ..)| *tag).collect();
            Error::at(
                &format!("{language}.jsgf"),
                Pos::default(),
                format!("there is no grammar for the language {language:?}"),
                format!("set the plan's language to one of: {}", known.join(", ")),
            )
        })
}

/// A named thing: its tag, and its spoken names.
type Names<'a> = (String, &'a [String]);

/// The grammar of `language` with the rules `<vessel>`, `<sample>`, `<item>`, `<step>`,
/// `<clock>` and `<place>` filled from the plan. A rule for which the plan has nothing
/// stays `<VOID>`.
pub fn with_plan(language: &str, plan: &Plan) -> Result<(Source, Vec<Error>)> {
    let (file, text) = embedded(language)?;
    let (mut source, _) = jsgf::read(file, text)?;
    let speller = typed::Speller::new(&source)?;

    let vessels = plan.vessels.iter().map(|v| ("vessel", &v.id, &v.names));
    let samples = plan.samples.iter().map(|s| ("sample", &s.id, &s.names));
    let items = plan.items.iter().map(|i| ("item", &i.id, &i.names));
    let steps = plan.steps.iter().map(|s| ("step", &s.id, &s.names));
    let all: Vec<(&str, &String, &Vec<String>)> =
        vessels.chain(items).chain(steps).chain(samples).collect();

    for kind in ["vessel", "sample", "item", "step"] {
        let list: Vec<Names> = all
            .iter()
            .filter(|(k, ..)| *k == kind)
            .map(|(_, id, names)| (format!("{kind} {id}"), names.as_slice()))
            .collect();
        fill(&mut source, kind, &list, &speller)?;
    }
    // A clock goes by the first name of the thing that it is for.
    let clocks: Vec<Names> = all
        .iter()
        .filter(|(kind, ..)| *kind != "sample")
        .filter_map(|(_, _, names)| {
            let first = names.first()?;
            Some((format!("clock {first}"), names.as_slice()))
        })
        .collect();
    fill(&mut source, "clock", &clocks, &speller)?;
    let taken: Vec<Vec<String>> = all
        .iter()
        .flat_map(|(.., names)| names.iter())
        .map(|name| speller.words(name))
        .collect();
    for rule in ["general_clock", "medium", "fridge", "ice"] {
        withdraw(&mut source, rule, &taken);
    }
    if let Some(attribute) = plan.tasting.as_ref().and_then(|t| t.attribute.as_ref()) {
        add_attribute(&mut source, attribute, &speller);
    }
    if let Some(address) = &plan.hearing.address {
        let words = speller.words(address).into_iter().map(Node::Word).collect();
        set(&mut source, "address", Node::Seq(words));
    }
    let places = places(&source, plan);
    set(&mut source, "place", places);
    Ok((source, Vec::new()))
}

fn set(source: &mut Source, rule: &str, body: Node) {
    if let Some(&i) = source.index.get(rule)
        && let Some(rule) = source.rules.get_mut(i)
    {
        rule.body = body;
    }
}

fn either(list: Vec<Node>) -> Node {
    match list.len() {
        0 => Node::Void,
        _ => Node::Alt(list.into_iter().map(|n| (1.0, n)).collect()),
    }
}

fn fill(source: &mut Source, rule: &str, list: &[Names], speller: &typed::Speller) -> Result<()> {
    let mut ways: Vec<Node> = Vec::new();
    for (tag, names) in list {
        for name in names.iter() {
            let words = speller.words(name);
            if words.is_empty() {
                return Err(Error::at(
                    &source.file,
                    Pos::default(),
                    format!("the plan's name {name:?} has no word that can be said"),
                    "give it a name of letters, such as \"left skillet\"",
                ));
            }
            let words = Node::Seq(words.into_iter().map(Node::Word).collect());
            let way = Node::Tagged(Box::new(words), tag.clone());
            if !ways.contains(&way) {
                ways.push(way);
            }
        }
    }
    set(source, rule, either(ways));
    Ok(())
}

/// What the plan's tasting asks for, beside what any may ask for.
fn add_attribute(source: &mut Source, attribute: &str, speller: &typed::Speller) {
    let words: Vec<Node> = speller
        .words(attribute)
        .into_iter()
        .map(Node::Word)
        .collect();
    let way = Node::Tagged(Box::new(Node::Seq(words)), format!("attribute {attribute}"));
    let rule = source.index.get("attribute").copied();
    if let Some(rule) = rule.and_then(|i| source.rules.get_mut(i))
        && let Node::Alt(parts) = &mut rule.body
    {
        let tag = format!("attribute {attribute}");
        let there = parts
            .iter()
            .any(|(_, n)| matches!(n, Node::Tagged(_, t) if *t == tag));
        if !there {
            parts.push((1.0, way));
        }
    }
}

/// Takes alternatives out of a rule that say what the plan itself names.
fn withdraw(source: &mut Source, rule: &str, taken: &[Vec<String>]) {
    let Some(rule) = source
        .index
        .get(rule)
        .and_then(|&i| source.rules.get_mut(i))
    else {
        return;
    };
    if let Node::Alt(parts) = &mut rule.body {
        parts.retain(|(_, node)| {
            let mut words = Vec::new();
            node.visit(&mut |n| {
                if let Node::Word(w) = n {
                    words.push(w.clone());
                }
            });
            !taken.contains(&words)
        });
        if parts.is_empty() {
            rule.body = Node::Void;
        }
    }
}

/// The places of all layouts that the plan's vessels have.
fn places(source: &Source, plan: &Plan) -> Node {
    let mut layouts: Vec<Layout> = Vec::new();
    for vessel in &plan.vessels {
        if !layouts.contains(&vessel.places) {
            layouts.push(vessel.places);
        }
    }
    let mut ways = Vec::new();
    let mut add = |names: &[String]| {
        if names.iter().all(|name| source.index.contains_key(name)) {
            let rules = names.iter().map(|n| Node::Rule(n.clone(), Pos::default()));
            ways.push(Node::Seq(rules.collect()));
        }
    };
    // "Left" also answers for the left skillet, whatever the places in it.
    for rule in ["places_left_right", "places_front_back"] {
        if !layouts.iter().any(|l| rule_of(*l).as_deref() == Some(rule))
            && plan
                .vessels
                .iter()
                .any(|v| v.names.iter().any(|name| names_a_side(source, rule, name)))
        {
            add(&[rule.to_string()]);
        }
    }
    for layout in layouts {
        match layout {
            // One place is no place to tell from another.
            Layout::Heap
            | Layout::Grid {
                rows: 1,
                columns: 1,
            } => {}
            Layout::LeftRight | Layout::FrontBack | Layout::Row3 | Layout::Clock => {
                add(&Vec::from_iter(rule_of(layout)));
            }
            Layout::Grid { rows, columns } => {
                let row = format!("rows_{rows}");
                let column = format!("columns_{columns}");
                add(&[row.clone(), column.clone()]);
                if rows > 1 && columns > 1 {
                    add(&[column, row]);
                }
                add(&[format!("places_grid_{rows}_{columns}")]);
            }
        }
    }
    either(ways)
}

/// The rule with the places of a layout that is not put together from rows and columns.
fn rule_of(layout: Layout) -> Option<String> {
    let name = match layout {
        Layout::LeftRight => "places_left_right",
        Layout::FrontBack => "places_front_back",
        Layout::Row3 => "places_row_3",
        Layout::Clock => "places_clock",
        Layout::Heap | Layout::Grid { .. } => return None,
    };
    Some(name.to_string())
}

/// Whether a word of `name` is one of the words for places in `rule`.
fn names_a_side(source: &Source, rule: &str, name: &str) -> bool {
    let mut found = false;
    if let Some(rule) = source.rule(rule) {
        rule.body.visit(&mut |node| {
            if let Node::Word(word) = node {
                found |= name.split_whitespace().any(|w| w == word);
            }
        });
    }
    found
}
