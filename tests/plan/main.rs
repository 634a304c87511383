//! Plans: read, refused, printed, shipped.

mod hearing;
mod kit;
mod language_page;
mod names;
mod places;
mod print;
mod problems_amounts;
mod problems_file;
mod problems_keys;
mod problems_names;
mod problems_whole;
mod properties;
mod quantities;
mod shipped;
