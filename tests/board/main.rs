//! The board as others get it: over HTTP, and in headless Chromium.
//!
//! Outside checks: contrast by the formula of WCAG 2.2 (W3C Recommendation, "relative
//! luminance" and "contrast ratio", success criteria 1.4.3 and 1.4.11); the page against
//! html5ever, the parser of the HTML standard; the page's behaviour in Chromium.
//!
//! - `network`: who gets what over HTTP, and what is in it
//! - `screen`: the page in the browser
//! - `support`: a stove whose state is shown, and a browser that is asked what it sees

#[path = "../record/html_faults.rs"]
mod html_faults;
mod network;
mod screen;
mod support;
