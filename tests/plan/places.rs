//! The places of every layout: each name leads back to its place, in a plan and by voice.

use hobcall::grammar::{Call, Grammar};
use hobcall::plan::{self, Layout, Place};

fn layouts() -> Vec<Layout> {
    let grids = (1..=4u8).flat_map(|rows| (1..=4u8).map(move |columns| (rows, columns)));
    [
        Layout::Heap,
        Layout::LeftRight,
        Layout::FrontBack,
        Layout::Row3,
        Layout::Clock,
    ]
    .into_iter()
    .chain(
        grids
            .filter(|(rows, columns)| rows * columns > 1)
            .map(|(rows, columns)| Layout::Grid { rows, columns }),
    )
    .collect()
}

#[test]
fn every_name_leads_back_to_its_place() {
    for layout in layouts() {
        let mut names: Vec<String> = Vec::new();
        for place in layout.places() {
            let of = layout.names_of(place);
            assert!(!of.is_empty(), "{layout:?} {place:?}");
            for name in &of {
                assert_eq!(layout.place_named(name), Some(place), "{layout:?} {name}");
            }
            names.extend(of);
        }
        let count = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), count, "a name twice in {layout:?}");
    }
}

#[test]
fn the_number_of_places() {
    for layout in layouts() {
        let expected = match layout {
            Layout::Heap => 0,
            Layout::LeftRight | Layout::FrontBack => 2,
            Layout::Row3 => 3,
            Layout::Grid { rows, columns } => usize::from(rows) * usize::from(columns),
            Layout::Clock => 12,
        };
        assert_eq!(layout.places().len(), expected, "{layout:?}");
    }
}

#[test]
fn what_a_cook_may_write() {
    let grid = |rows, columns| Layout::Grid { rows, columns };
    let cell = |row, column| Some(Place::Cell { row, column });
    assert_eq!(grid(2, 2).place_named("back left"), cell(0, 0));
    assert_eq!(grid(2, 2).place_named("left back"), cell(0, 0));
    assert_eq!(grid(2, 2).place_named("Front  Right"), cell(1, 1));
    assert_eq!(grid(2, 3).place_named("front middle"), cell(1, 1));
    assert_eq!(grid(3, 3).place_named("centre"), cell(1, 1));
    assert_eq!(grid(4, 4).place_named("far back far left"), cell(0, 0));
    assert_eq!(grid(1, 4).place_named("far right"), cell(0, 3));
    assert_eq!(grid(2, 2).place_named("left"), None);
    assert_eq!(Layout::Clock.place_named("3 o'clock"), Some(Place::Hour(3)));
    assert_eq!(
        Layout::Clock.place_named("twelve o’clock"),
        Some(Place::Hour(12))
    );
    assert_eq!(Layout::Clock.place_named("13 o'clock"), None);
    assert_eq!(Layout::Heap.place_named("left"), None);
    assert_eq!(
        Layout::LeftRight.names_of(Place::Back),
        Vec::<String>::new()
    );
}

/// What the tool calls a place is what the English grammar hears as that place.
#[test]
fn the_grammar_hears_every_name() {
    for layout in layouts() {
        let text = format!(
            "plan: A test\nunits: celsius\nitems:\n  bun: {{pieces: 2, class: other}}\n\
             samples:\n  rye bun: {{of: bun}}\nvessels:\n  tin: {{kind: tray, places: {}}}\n\
             steps:\n  bake: {{say: Bake., vessel: tin, holds: rye bun}}\n",
            layout.written()
        );
        let plan = plan::read(&text, "plan.yaml").unwrap().plan;
        assert_eq!(plan.vessels[0].places, layout);
        let grammar = Grammar::for_plan("en", &plan).unwrap_or_else(|e| panic!("{e}"));
        for place in layout.places() {
            for name in layout.names_of(place) {
                let said = format!("rye bun to the {name}");
                let calls = grammar.calls(&said);
                assert!(
                    calls.iter().any(|call| matches!(
                        call,
                        Call::Put { piece, place: Some(heard), .. } if piece == "rye_bun" && *heard == place
                    )),
                    "{layout:?}: `{said}` gave {calls:?}, not {place:?}"
                );
            }
        }
    }
}
