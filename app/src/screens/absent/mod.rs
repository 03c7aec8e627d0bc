//! Addresses that lead to nothing on this device: what to do, never an empty new job.

use crate::route::Route;
use crate::screens::start::OpenKey;
use crate::state::session;
use leptos::prelude::*;

/// The address names a job that is not here.
#[component]
pub fn Missing() -> impl IntoView {
    let session = session();
    let job = move || {
        session
            .route
            .get()
            .job()
            .map(ToString::to_string)
            .unwrap_or_default()
    };
    view! {
        <section class="absent sheet">
            <h1>"This job is not on this device"</h1>
            <p>
                "The address belongs to job " <b class="figure">{job}</b>
                ". Either it was never opened here, or the browser removed its data. Nothing new was begun in its place"
            </p>
            <p>"Open its file (it ends in .samespot) to go on where the copy left off"</p>
            <div class="actions">
                <OpenKey main=true />
                <a class="key" href="#/">"To the start page"</a>
            </div>
        </section>
    }
}

/// The address is none of ours.
#[component]
pub fn Unknown() -> impl IntoView {
    let session = session();
    let said = move || match session.route.get() {
        Route::Unknown(path) => path,
        _ => String::new(),
    };
    view! {
        <section class="absent sheet">
            <h1>"There is no screen at this address"</h1>
            <p>
                "The address ends in " <b class="figure">{said}</b>
                ". If you typed it from a sheet, check each letter"
            </p>
            <div class="actions">
                <a class="key main" href="#/">"To the start page"</a>
            </div>
        </section>
    }
}
