//! A tracing or an artwork file: chosen, read, asked about.

use super::marked_picture::{MarkedUp, Picture, Place, outline_words};
use crate::ports::{files, worker};
use crate::say;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::loose_sheet::LooseSheet;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, DrawnFile, LeftOut, OwnSize, TracedSize};
use samespot_core::sheet::Paper;
use std::sync::Arc;

/// What is said of a tracing.
fn traced_words(traced: &TracedSize) -> String {
    let crosses = match traced.marks.len() {
        0 => String::new(),
        1 => ". One cross beside it".to_owned(),
        n => format!(". {n} crosses beside it"),
    };
    let specks = match traced.specks {
        0 => String::new(),
        1 => ". One speck was left out".to_owned(),
        n => format!(". {n} specks were left out"),
    };
    format!(
        "Traced on {}: {:.1} mm across, {:.1} mm up, true to {:.1} mm. The fifth target is {:.1} mm off{crosses}{specks}. If your tape measures the corner targets otherwise than the frame says, put the size right by as much",
        traced.paper, traced.across, traced.up, traced.within, traced.fifth_off
    )
}

/// A file in hand, with what was answered about it so far.
#[derive(Debug, Clone, Default, PartialEq)]
struct InHand {
    name: String,
    bytes: Arc<Vec<u8>>,
    strokes: &'static str,
    without_words: bool,
}

#[derive(Debug, Clone, PartialEq)]
enum Step {
    Nothing,
    Reading,
    Asked(DrawnFile),
    Traced(String),
    /// A picture without a tracing frame: what was missing.
    NoFrame(String),
    /// It is taken by four places that are known.
    ByPlaces,
    Refused(String),
}

/// What a drawing looks like, and how large its file says it is.
#[derive(Debug, Clone, PartialEq)]
struct Own {
    drawing: Drawing,
    sizes: Vec<OwnSize>,
    picture: String,
    high: f64,
}

/// The drawing to look at while its size is asked, and its own size to take.
fn looks(own: Own, take: Callback<Drawing>) -> impl IntoView + use<> {
    let drawing = StoredValue::new(own.drawing);
    let picture = (!own.picture.is_empty()).then(|| {
        view! {
            <svg class="artwork-looks" viewBox=format!("-8 -8 1016 {:.0}", own.high + 16.0) role="img"
                aria-label="The drawing as it was read">
                <path d=own.picture fill-rule="evenodd" />
            </svg>
        }
    });
    let keys = own.sizes.into_iter().map(|size| {
        let across = format!("{:.1} mm", size.across);
        let words = format!("{across} across, {}", size.by);
        view! {
            <button type="button" class="key" on:click=move |_| {
                take.run(Drawing { across: Some(across.clone()), ..drawing.get_value() });
            }>{words}</button>
        }
    });
    let keys: Vec<_> = keys.collect();
    (picture.is_some() || !keys.is_empty()).then(|| {
        view! {
            <div class="artwork-own">
                {picture}
                {keys}
            </div>
        }
    })
}

/// Everything that was left out, each kind once.
fn left_out(ignored: &[LeftOut]) -> Vec<String> {
    let mut kinds: Vec<(&str, usize)> = Vec::new();
    for one in ignored {
        match kinds.iter_mut().find(|k| k.0 == one.what) {
            Some(kind) => kind.1 += one.count,
            None => kinds.push((&one.what, one.count)),
        }
    }
    kinds
        .into_iter()
        .map(|(what, count)| say::artwork::ignored(what, count))
        .collect()
}

/// A drawing as it was read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Drawing {
    /// What the file was called.
    pub(super) name: String,
    /// Its outline as it is attached to a job.
    pub(super) stored: Vec<u8>,
    /// What of the file was left out.
    pub(super) ignored: Vec<String>,
    /// How wide it is, where a photograph says so, as it would be typed.
    pub(super) across: Option<String>,
    /// Where its middle is on the face, mm, and within what (95 %): off a picture by its marks.
    pub(super) place: Option<([f64; 2], f64)>,
    /// Crosses drawn over marks, from the middle of the shape, mm, and within what (95 %).
    pub(super) crosses: (Vec<[f64; 2]>, f64),
}

/// Chooses a file, reads it, asks what has to be asked.
#[component]
pub(super) fn ArtworkFile(
    /// What the file in hand is called; nothing before there is one.
    name: Signal<String>,
    /// What of it was left out, a line each.
    ignored: Signal<String>,
    /// The paper in the printer.
    paper: Signal<Paper>,
    /// Marks of the face, by which a picture can be taken.
    #[prop(optional, into)]
    marks: Signal<Vec<Place>>,
    /// That face is not flat.
    #[prop(optional, into)]
    round: Signal<bool>,
    /// Takes a drawing once it is read.
    take: Callback<Drawing>,
    /// What is asked once there is one.
    children: ChildrenFn,
) -> impl IntoView {
    let in_hand = RwSignal::new(InHand::default());
    let own = RwSignal::new(None::<Own>);
    let step = RwSignal::new(Step::Nothing);
    let read = move || {
        let file = in_hand.get_untracked();
        step.set(Step::Reading);
        own.set(None);
        spawn_local(async move {
            let told = serde_json::json!({
                "strokes": if file.strokes.is_empty() { "ask" } else { file.strokes },
                "without-words": file.without_words,
            });
            let answer = worker::on_demand(
                worker::Module::Artwork,
                &told.to_string(),
                Some(&file.bytes),
            )
            .await;
            let next = match answer {
                Err(why) => Step::Refused(why.of("artwork reader", worker::TooLarge::DRAWING)),
                Ok((json, stored)) => match samespot_core::json::read::<DrawnFile>(&json) {
                    Err(e) => Step::Refused(format!("the answer was not understood: {e}")),
                    Ok(DrawnFile::Refused { sentence }) => Step::Refused(sentence),
                    Ok(DrawnFile::Outline {
                        ignored,
                        traced,
                        own: sizes,
                        picture,
                        proportion,
                    }) => {
                        let drawing = Drawing {
                            name: file.name.clone(),
                            stored,
                            ignored: left_out(&ignored),
                            across: traced.as_ref().map(|t| format!("{:.1} mm", t.across)),
                            place: None,
                            crosses: traced
                                .as_ref()
                                .map(|t| (t.marks.clone(), t.within))
                                .unwrap_or_default(),
                        };
                        take.run(drawing.clone());
                        let _ = own.try_set(Some(Own {
                            drawing,
                            sizes,
                            picture,
                            high: 1000.0 * proportion,
                        }));
                        traced.map_or(Step::Nothing, |t| Step::Traced(traced_words(&t)))
                    }
                    Ok(DrawnFile::NoFrame { sentence }) => Step::NoFrame(sentence),
                    Ok(asked) => Step::Asked(asked),
                },
            };
            let _ = step.try_set(next);
        });
    };
    let chosen = move |file: files::Picked| {
        spawn_local(async move {
            match files::read(&file).await {
                Ok(file) => {
                    in_hand.set(InHand {
                        name: file.name,
                        bytes: Arc::new(file.bytes),
                        ..InHand::default()
                    });
                    read();
                }
                Err(sentence) => drop(step.try_set(Step::Refused(sentence))),
            }
        });
    };
    let accept = files::accept(".svg,.svgz,image/svg+xml,image/jpeg,image/png");
    view! {
        <div class="fields">
            <label class="key file">
                {move || if name.with(String::is_empty) { "Choose a drawing or a photograph".to_owned() } else { "Choose another".to_owned() }}
                <input
                    type="file"
                    accept=accept
                    on:change=move |e| {
                        if let Some(file) = files::chosen(&e) {
                            chosen(file);
                        }
                    }
                />
            </label>
            <p class="second">
                {move || {
                    let name = name.get();
                    if name.is_empty() {
                        "A drawing saved as SVG, a photograph of a tracing frame, or any picture in which four places are known. Nothing leaves this device".to_owned()
                    } else {
                        name
                    }
                }}
            </p>
        </div>
        {move || match step.get() {
            Step::Nothing => ().into_any(),
            Step::Reading => view! { <p class="second" role="status">"Reading the drawing…"</p> }.into_any(),
            Step::Traced(says) => {
                view! { <p class="echo traced" role="status">{says}</p> }.into_any()
            }
            Step::NoFrame(why) => {
                view! {
                    <p class="why" role="alert">{say::job::capital(&why)}</p>
                    <p class="second">"No tracing frame, but four places in it are known, as marks of the face or the corners of something rectangular?"</p>
                    <button type="button" class="key" id="by-places" on:click=move |_| step.set(Step::ByPlaces)>
                        "Take it by four known places"
                    </button>
                }
                    .into_any()
            }
            Step::ByPlaces => {
                let file = in_hand.get_untracked();
                let name = file.name.clone();
                let taken = Callback::new(move |taken: super::marked_picture::Taken| {
                    if taken.from.across <= 0.0 {
                        step.set(Step::Refused("an outline is taken here: tap all the way round it".into()));
                        return;
                    }
                    take.run(Drawing {
                        name: name.clone(),
                        stored: taken.stored,
                        ignored: Vec::new(),
                        across: Some(format!("{:.1} mm", taken.from.across)),
                        place: taken.by_marks.then_some((taken.from.middle_mm, taken.from.middle_within)),
                        crosses: Default::default(),
                    });
                    step.set(Step::Traced(format!("Taken off the picture: {}", outline_words(&taken.from))));
                });
                view! {
                    <MarkedUp
                        picture=Picture { name: file.name, bytes: file.bytes }
                        marks=marks
                        round=round
                        words=outline_words
                        take_label="Use this outline"
                        take=taken
                    />
                }
                    .into_any()
            }
            Step::Refused(why) => {
                view! {
                    <p class="why" role="alert">
                        {say::job::capital(&why)}
                    </p>
                }
                    .into_any()
            }
            Step::Asked(DrawnFile::AskStrokes { lines, dashed }) => {
                let dashes = if dashed > 0 { format!(", {dashed} of them dashed") } else { String::new() };
                view! {
                    <p class="why">{format!("It has {lines} drawn lines{dashes}. What is meant?")}</p>
                    <Choices
                        legend="What a drawn line means"
                        choices=vec![
                            Choice::words("both-edges", "both edges of the line"),
                            Choice::words("centre-line", "its centre line"),
                            Choice::words("leave-out", "leave lines out"),
                        ]
                        taken=Signal::derive(String::new)
                        take=move |v: String| {
                            let strokes = match v.as_str() {
                                "both-edges" => "both-edges",
                                "centre-line" => "centre-line",
                                _ => "leave-out",
                            };
                            in_hand.update(|f| f.strokes = strokes);
                            read();
                        }
                    />
                }
                    .into_any()
            }
            Step::Asked(DrawnFile::AskWords { texts, first }) => {
                view! {
                    <p class="why">
                        {format!(
                            "It has {texts} texts that are not outlined (‘{first}’): save it again with text turned into paths, or leave them out",
                        )}
                    </p>
                    <button
                        type="button"
                        class="key"
                        on:click=move |_| {
                            in_hand.update(|f| f.without_words = true);
                            read();
                        }
                    >
                        "Leave the texts out"
                    </button>
                }
                    .into_any()
            }
            Step::Asked(_) => ().into_any(),
        }}
        <details class="tracing-frame">
            <summary>"No drawing? Trace it off the pattern"</summary>
            <p class="second">
                "Print a tracing frame, follow the shape with a dark pen inside its window, photograph all five targets, and choose the photograph here: the outline comes out at true size"
            </p>
            <LooseSheet
                id="tracing-frame"
                ask=Signal::derive(move || Ask::TracingFrame { paper: paper.get() })
                paper=paper
            />
        </details>
        {move || own.get().map(|own| looks(own, take))}
        <Show when=move || !name.with(String::is_empty)>
            {children()}
        </Show>
        <Show when=move || !ignored.with(String::is_empty)>
            <div class="ignored">
                <p class="legend">"Left out of the file"</p>
                <ul>
                    {move || ignored.get().lines().map(|l| view! { <li>{l.to_owned()}</li> }).collect_view()}
                </ul>
            </div>
        </Show>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_left_out_is_said_once_for_each_kind() {
        let one = |what: &str, count| LeftOut {
            what: what.into(),
            count,
        };
        let said = left_out(&[one("hidden", 2), one("script", 1), one("hidden", 1)]);
        assert_eq!(said, ["3 × hidden shapes", "scripts"]);
    }
}
