//! What needs a real sound server: each test starts a private one and runs itself again
//! inside it. Apart from the other tests because sound in real time wants the machine.

#[path = "../ear/common.rs"]
mod common;
mod microphone;
mod speaker;
#[cfg(feature = "system-voice")]
mod system;
