//! What the device computes with.

/// Two things can be worked out side by side; where nobody says, they can't.
#[must_use]
pub fn several() -> bool {
    web_sys::window().is_some_and(|w| w.navigator().hardware_concurrency() > 1.0)
}
