//! What can be said and what it calls.

mod calls;
mod jsgf;
mod numbers;
mod plan;
mod reference;
mod whole;
