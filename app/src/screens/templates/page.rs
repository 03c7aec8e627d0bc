//! The pages of the template in hand.

use crate::say::numbers::tenth;
use crate::screens::press::{Looked, Press};
use crate::widgets::sheet_pages::SheetPages;
use leptos::prelude::*;

/// The pages.
#[component]
pub fn Pages(press: Press) -> impl IntoView {
    let pages = Signal::derive(move || match press.looked.get() {
        Looked::View(view) => view.pages.clone(),
        _ => Vec::new(),
    });
    let under = Signal::derive(move || match press.looked.get() {
        Looked::View(v) => {
            format!(
                "{} × {} mm inside its trim, on {}",
                tenth(v.across),
                tenth(v.up),
                v.paper
            )
        }
        _ => String::new(),
    });
    let whole = Signal::derive(move || match press.looked.get() {
        Looked::View(view) => view.whole.clone(),
        _ => None,
    });
    view! { <SheetPages pages=pages under=under whole=whole /> }
}
