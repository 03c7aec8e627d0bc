//! Small things about this device: which theme, which paper last, which jobs there should be.
//!
//! Nothing here would be missed: a browser that refuses gives the defaults.

fn storage() -> Option<web_sys::Storage> {
    web_sys::window().and_then(|w| w.local_storage().ok().flatten())
}

/// Reads a setting.
#[must_use]
pub fn get(name: &str) -> Option<String> {
    storage()?
        .get_item(&format!("samespot.{name}"))
        .ok()
        .flatten()
}

/// Keeps a setting, where the browser lets us.
pub fn set(name: &str, value: &str) {
    if let Some(s) = storage() {
        let _ = s.set_item(&format!("samespot.{name}"), value);
    }
}

/// Puts the theme on the page: `office`, `shed`, or the device's own choice.
pub fn wear(theme: &str) {
    if let Some(root) = web_sys::window()
        .and_then(|w| w.document())
        .and_then(|d| d.document_element())
    {
        let _ = root.set_attribute("data-theme", theme);
    }
}

/// The device itself asks for dark.
#[must_use]
pub fn device_is_dark() -> bool {
    web_sys::window()
        .and_then(|w| w.match_media("(prefers-color-scheme: dark)").ok().flatten())
        .is_some_and(|m| m.matches())
}
