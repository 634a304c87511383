//! The room `doneness` against the outside: published tables and worked examples, each
//! named beside its check; cooks made from the whole conduction series; properties.

#[path = "doneness/conduction.rs"]
mod conduction;
#[path = "doneness/properties.rs"]
mod properties;
#[path = "doneness/readings.rs"]
mod readings;
#[path = "doneness/tables.rs"]
mod tables;
