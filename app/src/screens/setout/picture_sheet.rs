//! A picture or a drawing brought in on known places, printed at full size with a grid: its sheets are
//! looked at first, and what is looked at is what is printed.

use super::folded::Folded;
use super::hand::Hand;
use crate::ports::{clock, files, print, worker};
use crate::say;
use crate::say::job::capital;
use crate::screens::marked_picture::{MarkedUp, Picture, Place, Taken, held_marks, outline_words};
use crate::widgets::sheet_pages::SheetPages;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{DrawnFile, FileKind, PictureSheet, SheetsMade};
use samespot_core::job::{Entry, FaceShape};
use samespot_core::prepare::setout::of_picture;
use samespot_core::read::marked_picture::MarkedPicture;
use std::sync::Arc;

fn says(made: &SheetsMade) -> String {
    let sheets = match made.pages {
        1 => "One sheet".to_owned(),
        n => format!("{n} sheets, joined by their crosses"),
    };
    let left_out: Vec<String> = (made.left_out.iter())
        .map(|l| say::artwork::ignored(&l.what, l.count))
        .collect();
    let without = if left_out.is_empty() {
        String::new()
    } else {
        format!(". Left out of the file: {}", left_out.join(", "))
    };
    format!(
        "{sheets}. True to {:.1} mm amid the known places, to {:.1} mm at the worst corner{without}",
        made.middle_within, made.worst_within
    )
}

/// Sheets that were made, with what they were made from.
#[derive(Debug, Clone, PartialEq)]
struct Sheets {
    of: Picture,
    ask: PictureSheet,
    made: SheetsMade,
    pages: Vec<String>,
}

/// Asks for the sheets; gives them back with what is said of them, or why there are none.
async fn made(file: &Picture, sheet: &PictureSheet) -> Result<(SheetsMade, Vec<u8>), String> {
    let request = serde_json::json!({ "sheet": sheet }).to_string();
    let came = worker::on_demand(worker::Module::Artwork, &request, Some(&file.bytes)).await;
    match came {
        Err(why) => Err(why.of("picture reader", worker::TooLarge::PICTURE)),
        Ok((json, bytes)) => match samespot_core::json::read::<DrawnFile>(&json) {
            Ok(DrawnFile::Sheets(made)) => Ok((made, bytes)),
            Ok(DrawnFile::Refused { sentence }) => Err(sentence),
            Ok(_) => Err("the picture could not be laid flat: try again".to_owned()),
            Err(e) => Err(format!("the answer was not understood: {e}")),
        },
    }
}

/// What becomes of a file.
#[derive(Clone, Copy, PartialEq)]
enum Due {
    Print,
    Save(FileKind),
}

#[component]
pub(super) fn PictureSheets(hand: Hand) -> impl IntoView {
    let every = Typing::of_length(Some(&Entry::of_mm(50.0)));
    let picture = RwSignal::new(None::<Picture>);
    let said = RwSignal::new(None::<String>);
    let sheets = RwSignal::new(None::<Sheets>);
    let choose = move |file: files::Picked| {
        said.set(None);
        sheets.set(None);
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
    let look = Callback::new(move |places: MarkedPicture| {
        let (Some(file), Some(every)) = (picture.get_untracked(), every.entry_now()) else {
            return;
        };
        let face = hand.face.get_untracked();
        let ask = hand.with_job(|j| PictureSheet {
            places,
            every: every.mm,
            paper: j.about.paper.unwrap_or_default(),
            of: of_picture(j, face.as_ref(), &file.name, &clock::day()),
            file: None,
        });
        let Some(ask) = ask else { return };
        sheets.set(None);
        said.set(Some("Laying it out at full size…".to_owned()));
        spawn_local(async move {
            let came = made(&file, &ask).await.and_then(|(made, bytes)| {
                let pages = str::from_utf8(&bytes).ok();
                let pages = pages.and_then(|t| samespot_core::json::read::<Vec<String>>(t).ok());
                let pages = pages.ok_or("the sheets were not understood: try again")?;
                Ok((made, pages))
            });
            let words = match came {
                Ok((made, pages)) => {
                    let words = says(&made);
                    let _ = sheets.try_set(Some(Sheets {
                        of: file,
                        ask,
                        made,
                        pages,
                    }));
                    words
                }
                Err(why) => capital(&why),
            };
            let _ = said.try_set(Some(words));
        });
    });
    // What is looked at is what comes out, whatever was tapped or typed since.
    let give = move |due: Due| {
        let Some(Sheets {
            of,
            ask,
            made: looked,
            ..
        }) = sheets.get_untracked()
        else {
            return;
        };
        let file = Some(match due {
            Due::Print => FileKind::Pdf,
            Due::Save(kind) => kind,
        });
        said.set(Some("Making the file…".to_owned()));
        spawn_local(async move {
            let words = match made(&of, &PictureSheet { file, ..ask }).await {
                Err(why) => capital(&why),
                Ok((made, bytes)) => {
                    let given = match due {
                        Due::Print => print::print(&bytes),
                        Due::Save(_) => files::download(&made.name, &made.media, &bytes),
                    };
                    if given {
                        says(&looked)
                    } else {
                        "The browser opened no window to print from: download the PDF and print it at 100 %".to_owned()
                    }
                }
            };
            let _ = said.try_set(Some(words));
        });
    };
    let accept = files::accept("image/jpeg,image/png,.svg,image/svg+xml");
    let key = move |id: &'static str, label: &'static str, due: Due| {
        view! {
            <button type="button" class="key" id=id on:click=move |_| give(due)>{label}</button>
        }
    };
    view! {
        <Folded id="setout-picture-sheets" name="A picture or drawing, full size" class="sheet setout-readings">
            <p class="second">"A photograph or a client’s drawing with known places in it, at true size, with a grid over as many sheets as it takes. A photograph is laid flat; of an SVG drawing the lines stay lines"</p>
            <div class="fields">
                <TypedLength id="sheets-every" label="A grid line every" typing=every />
            </div>
            <label class="key file">
                "Choose the picture or drawing"
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
                    take_label="Show the sheets"
                    take=Callback::new(|_: Taken| ())
                    whole=look
                />
            })}
            {move || said.get().map(|s| view! { <p role="status" class="picture-sheets-say">{s}</p> })}
            <Show when=move || sheets.with(Option::is_some)>
                <SheetPages
                    pages=Signal::derive(move || {
                        sheets.with(|s| s.as_ref().map(|s| s.pages.clone()).unwrap_or_default())
                    })
                    under=Signal::derive(move || {
                        let paper = sheets.with(|s| s.as_ref().map(|s| s.ask.paper.name()));
                        paper.map(|p| format!("On {p}, as it is printed")).unwrap_or_default()
                    })
                />
                <div class="keys sheet-files">
                    {key("sheets-print", "Print", Due::Print)}
                    {key("sheets-pdf", "PDF", Due::Save(FileKind::Pdf))}
                    {key("sheets-svg", "SVG", Due::Save(FileKind::Svg))}
                    {key("sheets-dxf", "DXF", Due::Save(FileKind::Dxf))}
                </div>
                <p class="second">{crate::say::FOR_A_CUTTER}</p>
            </Show>
        </Folded>
    }
}
