//! The room `doneness` against the outside: published tables and worked examples, each
//! named beside its check; cooks made from the whole conduction series; properties.

mod conduction;
mod cooling;
mod properties;
mod readings;
mod tables;
