//! Takes in what html5ever finds and keeps only the faults, among them everything that
//! would load or run something.

use std::borrow::Cow;
use std::cell::{Cell, RefCell};

use html5ever::tendril::StrTendril;
use html5ever::tree_builder::{ElementFlags, NodeOrText, QuirksMode, TreeSink};
use html5ever::{Attribute, ExpandedName, QualName};

#[derive(Default)]
pub struct Sink {
    faults: RefCell<Vec<String>>,
    next: Cell<usize>,
    names: RefCell<Vec<&'static QualName>>,
}

impl Sink {
    fn new_handle(&self) -> usize {
        self.next.set(self.next.get() + 1);
        self.next.get()
    }
}

impl TreeSink for Sink {
    type Handle = usize;
    type Output = Vec<String>;
    type ElemName<'a> = ExpandedName<'a>;

    fn finish(self) -> Vec<String> {
        self.faults.into_inner()
    }
    fn parse_error(&self, msg: Cow<'static, str>) {
        self.faults.borrow_mut().push(msg.into_owned());
    }
    fn get_document(&self) -> usize {
        0
    }
    fn elem_name<'a>(&'a self, target: &'a usize) -> ExpandedName<'a> {
        let names = self.names.borrow();
        names[*target - 1].expanded()
    }
    fn create_element(&self, name: QualName, attrs: Vec<Attribute>, _: ElementFlags) -> usize {
        let handle = self.new_handle();
        const NONE_OF: [&str; 9] = [
            "script", "img", "link", "iframe", "object", "embed", "i", "base", "form",
        ];
        if NONE_OF.contains(&&*name.local) {
            self.parse_error(format!("the element {}", &*name.local).into());
        }
        for attr in attrs {
            let key = &*attr.name.local;
            let inside = key == "href" && attr.value.starts_with('#');
            if key.starts_with("on") || key == "src" || (key == "href" && !inside) {
                self.parse_error(format!("the attribute {key}").into());
            }
        }
        // A few thousand names in a test; they live until it ends.
        self.names.borrow_mut().push(Box::leak(Box::new(name)));
        handle
    }
    fn create_comment(&self, _: StrTendril) -> usize {
        0
    }
    fn create_pi(&self, _: StrTendril, _: StrTendril) -> usize {
        0
    }
    fn append(&self, _: &usize, _: NodeOrText<usize>) {}
    fn append_based_on_parent_node(&self, _: &usize, _: &usize, _: NodeOrText<usize>) {}
    fn append_doctype_to_document(&self, _: StrTendril, _: StrTendril, _: StrTendril) {}
    fn get_template_contents(&self, target: &usize) -> usize {
        *target
    }
    fn same_node(&self, a: &usize, b: &usize) -> bool {
        a == b
    }
    fn set_quirks_mode(&self, mode: QuirksMode) {
        if mode != QuirksMode::NoQuirks {
            self.faults.borrow_mut().push("quirks mode".to_owned());
        }
    }
    fn append_before_sibling(&self, _: &usize, _: NodeOrText<usize>) {}
    fn add_attrs_if_missing(&self, _: &usize, _: Vec<Attribute>) {}
    fn remove_from_parent(&self, _: &usize) {}
    fn reparent_children(&self, _: &usize, _: &usize) {}
}

/// What the parser of the HTML standard finds wrong.
pub fn faults(page: &str) -> Vec<String> {
    use html5ever::tendril::TendrilSink;
    let parse = |text: &str| {
        let sink = Sink::default();
        html5ever::parse_document(sink, html5ever::ParseOpts::default()).one(text)
    };
    // The parser must notice what is wrong, or its silence means nothing.
    let wrong = "<!DOCTYPE html><title>x</title><p><b></p></i>";
    assert!(!parse(wrong).is_empty(), "it finds faults");
    parse(page)
}
