//! The device's clock: only ever shown, never reckoned with in core.

/// Today as year-month-day, by the device's own calendar.
#[must_use]
pub fn day() -> String {
    let now = js_sys::Date::new_0();
    format!(
        "{:04}-{:02}-{:02}",
        now.get_full_year(),
        now.get_month() + 1,
        now.get_date()
    )
}

/// Now as `14:06`.
#[must_use]
pub fn time() -> String {
    let now = js_sys::Date::new_0();
    format!("{:02}:{:02}", now.get_hours(), now.get_minutes())
}

/// Now in words for a fact: `2025-11-25 14:06:31`.
#[must_use]
pub fn wall() -> String {
    let now = js_sys::Date::new_0();
    format!("{} {}:{:02}", day(), time(), now.get_seconds())
}

/// Milliseconds since 1970, for telling how long ago something was.
#[must_use]
pub fn millis() -> f64 {
    js_sys::Date::now()
}

/// Waits.
pub async fn pause(ms: i32) {
    let promise = js_sys::Promise::new(&mut |resolve, _| {
        if let Some(w) = web_sys::window() {
            let _ = w.set_timeout_with_callback_and_timeout_and_arguments_0(&resolve, ms);
        }
    });
    let _ = wasm_bindgen_futures::JsFuture::from(promise).await;
}
