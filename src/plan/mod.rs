//! The YAML a cook writes → a checked [`Plan`], or every problem with its place.

mod model;

pub use model::*;
