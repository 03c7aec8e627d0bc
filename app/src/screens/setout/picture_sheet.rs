//! A picture brought in on known places, printed at full size with a grid.

use super::hand::Hand;
use crate::ports::{clock, files, worker};
use crate::say::job::capital;
use crate::screens::marked_picture::{MarkedUp, Picture, Place, Taken, held_marks, outline_words};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{DrawnFile, PictureSheet, SheetsMade};
use samespot_core::job::{Entry, FaceShape};
use samespot_core::prepare::setout::of_picture;
use samespot_core::read::marked_picture::MarkedPicture;
use std::sync::Arc;

fn says(made: &SheetsMade) -> String {
    let sheets = match made.pages {
        1 => "One sheet".to_owned(),
        n => format!("{n} sheets, joined by their crosses"),
    };
    format!(
        "{sheets}. True to {:.1} mm amid the known places, to {:.1} mm at the worst corner",
        made.middle_within, made.worst_within
    )
}

fn pdf_name(picture: &str) -> String {
    let safe = |c: char| {
        if c.is_alphanumeric() || c == '-' {
            c
        } else {
            ' '
        }
    };
    let stem: String = picture.chars().map(safe).take(60).collect();
    let words: Vec<&str> = stem.split_whitespace().collect();
    format!("{} full size.pdf", words.join("-"))
}

/// Asks for the sheets; gives them back with what is said of them, or why there are none.
async fn made(file: &Picture, sheet: PictureSheet) -> Result<(SheetsMade, Vec<u8>), String> {
    let request = serde_json::json!({ "sheet": sheet }).to_string();
    let came = worker::on_demand(worker::Module::Artwork, &request, Some(&file.bytes)).await;
    match came {
        Err(worker::Broke(why)) => Err(format!(
            "the picture reader could not be loaded or broke off ({why}): try again"
        )),
        Ok((json, pdf)) => match samespot_core::json::read::<DrawnFile>(&json) {
            Ok(DrawnFile::Sheets(made)) => Ok((made, pdf)),
            Ok(DrawnFile::Refused { sentence }) => Err(sentence),
            Ok(_) => Err("the picture could not be laid flat: try again".to_owned()),
            Err(e) => Err(format!("the answer was not understood: {e}")),
        },
    }
}

#[component]
pub(super) fn PictureSheets(hand: Hand) -> impl IntoView {
    let every = Typing::new(Some(&Entry::of_mm(50.0)));
    let picture = RwSignal::new(None::<Picture>);
    let said = RwSignal::new(None::<String>);
    let choose = move |file: files::Picked| {
        said.set(None);
        spawn_local(async move {
            match files::read(&file).await {
                Err(why) => drop(said.try_set(Some(why))),
                Ok(file) => drop(picture.try_set(Some(Picture {
                    name: file.name,
                    bytes: Arc::new(file.bytes),
                }))),
            }
        });
    };
    let round = Signal::derive(move || {
        let face = hand.face.get();
        let shape = hand.of_job(|j| j.faces.get(face.as_ref()?)?.shape.clone());
        !matches!(shape.flatten(), Some(FaceShape::Flat))
    });
    let marks = Signal::derive(move || -> Vec<Place> {
        hand.view().map(|v| held_marks(&v)).unwrap_or_default()
    });
    let print = Callback::new(move |places: MarkedPicture| {
        let (Some(file), Some(every)) = (picture.get_untracked(), every.entry_now()) else {
            return;
        };
        let face = hand.face.get_untracked();
        let sheet = hand.with_job(|j| PictureSheet {
            places,
            every: every.mm,
            paper: j.about.paper.unwrap_or_default(),
            of: of_picture(j, face.as_ref(), &file.name, &clock::day()),
        });
        let Some(sheet) = sheet else { return };
        said.set(Some("Laying the picture flat…".to_owned()));
        spawn_local(async move {
            let words = match made(&file, sheet).await {
                Ok((made, pdf)) => {
                    files::download(&pdf_name(&file.name), "application/pdf", &pdf);
                    says(&made)
                }
                Err(why) => capital(&why),
            };
            let _ = said.try_set(Some(words));
        });
    });
    let accept = files::accept("image/jpeg,image/png");
    view! {
        <section class="sheet setout-readings" aria-labelledby="setout-picture-sheets">
            <h2 id="setout-picture-sheets">"A picture, full size"</h2>
            <p class="second">"A photograph or a client’s drawing with known places in it, laid flat, true size, with a grid over as many sheets as it takes"</p>
            <div class="fields">
                <TypedLength id="picture-every" label="A grid line every" typing=every />
            </div>
            <label class="key file">
                "Choose the picture"
                <input id="full-size-picture" type="file" accept=accept
                    on:change=move |e| {
                        if let Some(file) = files::chosen(&e) {
                            choose(file);
                        }
                    } />
            </label>
            {move || picture.get().map(|file| view! {
                <MarkedUp
                    picture=file
                    marks=marks
                    round=round
                    words=outline_words
                    take_label="Download it, full size"
                    take=Callback::new(|_: Taken| ())
                    whole=print
                />
            })}
            {move || said.get().map(|s| view! { <p role="status" class="picture-sheets-say">{s}</p> })}
        </section>
    }
}
