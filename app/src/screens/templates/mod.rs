//! Which template for which piece: what is wrong with it at worst, how it is laid, the page itself.

mod apart;
mod error;
pub(super) mod fewest;
mod page;
mod patches;
mod rack;
mod whole_run;

use crate::ports::share;
use crate::route::Route;
use crate::say;
use crate::screens::paper::PaperChoice;
use crate::screens::press::{Looked, Press, Wanted};
use crate::state::{Book, session};
use crate::widgets::marks::Fits;
use crate::widgets::solid::TurnIt;
use apart::OtherWays;
use error::ErrorPanel;
use fewest::FewestPanel;
use leptos::prelude::*;
use page::Pages;
pub use rack::RackPanel;
use samespot_core::answer::{FileKind, Survey, TemplateView};
use samespot_core::job::{FeatureId, Job, JobId, PieceId, QuickCards, QuickIds};
use samespot_core::prepare::lower;
use samespot_core::prepare::solid::SolidOf;
use samespot_core::run::next_to_paint;
use samespot_core::sheet::Paper;
use std::sync::Arc;
use whole_run::WholeRun;

/// The piece and feature an address means, where it names none or one that isn't there.
fn in_hand(job: &Job, route: &Route) -> Option<(PieceId, FeatureId)> {
    let Route::Templates { piece, feature, .. } = route else {
        return None;
    };
    let piece = piece
        .clone()
        .filter(|p| job.pieces.contains_key(p))
        .or_else(|| last_of_quick(job))
        .or_else(|| next_to_paint(job))
        .or_else(|| job.pieces_in_order().first().map(|(id, _)| (*id).clone()))?;
    let feature = feature
        .clone()
        .filter(|f| job.features.contains_key(f))
        .or_else(|| {
            let first = job.features_in_order().into_iter().next();
            first.map(|(id, _)| id.clone())
        })?;
    Some((piece, feature))
}

/// The last piece that is read of a quick template: the one that was just in hand on the cards.
fn last_of_quick(job: &Job) -> Option<PieceId> {
    let cards = QuickCards::of_job(job)?;
    let read = cards.pieces.iter().rev().find(|p| p.a_to_b.is_some())?;
    QuickIds::piece(read.number).ok().map(|(_, piece)| piece)
}

/// A feature of the piece in hand, as a key above the template.
#[derive(Debug, Clone, PartialEq)]
struct FeatureKey {
    id: FeatureId,
    name: String,
    error: Option<String>,
    fits: Option<bool>,
    stale: bool,
    address: String,
}

fn feature_keys(
    job: &Job,
    survey: Option<&Survey>,
    route: &Route,
    piece: &PieceId,
) -> Vec<FeatureKey> {
    let found = survey.and_then(|s| s.pieces.iter().find(|p| p.piece == *piece));
    job.features_in_order()
        .into_iter()
        .filter_map(|(id, feature)| {
            let survey = found.and_then(|p| p.features.iter().find(|f| f.feature == *id));
            // Once the run is looked over, a piece has the features its castings have.
            if found.is_some() && survey.is_none() {
                return None;
            }
            let errors = survey.and_then(|s| s.errors.as_ref());
            Some(FeatureKey {
                id: id.clone(),
                name: say::job::capital(&say::run::feature_name(Some(feature), id.as_str())),
                error: errors.map(|e| say::numbers::tenth(e.as_measured)),
                fits: errors.map(|e| e.as_measured <= e.allowed),
                stale: survey.is_some_and(|s| s.stale.is_some()),
                address: Route::Templates {
                    job: route.job()?.clone(),
                    piece: Some(piece.clone()),
                    feature: Some(id.clone()),
                }
                .address(),
            })
        })
        .collect()
}

/// The screen.
#[component]
pub fn Templates() -> impl IntoView {
    let session = session();
    let press = Press::new(session);
    let hand = Memo::new(move |_| {
        let route = session.route.get();
        session
            .book
            .with(|b| b.as_ref().and_then(|b| in_hand(&b.job, &route)))
    });
    let paper = Memo::new(move |_| {
        session
            .book
            .with(|b| b.as_ref().and_then(|b| b.job.about.paper))
            .unwrap_or(Paper::A4)
    });
    Effect::new(move |_| match (session.book.get(), hand.get()) {
        (Some(book), Some((piece, feature))) => {
            press.take(
                &book,
                Wanted {
                    feature,
                    piece,
                    paper: paper.get(),
                },
            );
        }
        _ => press.clear(),
    });
    let empty = move || hand.get().is_none();
    view! {
        <Show
            when=move || !empty()
            fallback=|| view! { <Nothing /> }
        >
            <div class="templates">
                // Above the title: its words come with the answer, and what is tapped must not move.
                <Features hand=hand />
                <div class="title-row">
                    <Title press=press />
                    <PaperChoice of=paper />
                </div>
                <Stale press=press />
                <FewestPanel hand=hand paper=paper />
                <div class="sheet template"
                    class:waits=move || press.looked.with(|l| matches!(l, Looked::Making))
                    class:cannot=move || press.looked.with(|l| matches!(l, Looked::Cannot(_)))>
                    <Pages press=press />
                    <ErrorPanel press=press />
                </div>
                <Turn press=press hand=hand />
                <Actions press=press paper=paper />
                <OtherWays hand=hand paper=paper />
                <RackPanel hand=Signal::derive(move || hand.get().map(|(piece, feature)| (piece, Some(feature)))) />
            </div>
        </Show>
    }
}

/// What a job still wants before anything can be printed: what is wrong, what to do, where.
fn still_wants(job: &Job) -> (&'static str, &'static str, Route, &'static str) {
    let job_id = job.id.clone();
    let nothing_drawn = "Nothing is drawn in this job yet: there is no shape to make a template of";
    let to_set_out = Route::SetOut {
        job: job_id.clone(),
        face: None,
    };
    if QuickCards::of_job(job).is_some() {
        let why = if job.features.is_empty() {
            nothing_drawn
        } else {
            "This job has no piece yet"
        };
        let what = "Fill in the four cards: the shape, what it lies on, two marks, this piece";
        (why, what, Route::Quick { job: job_id }, "To the cards")
    } else if job.features.is_empty() {
        let what = "Set out the face: its marks, and what has to land in the right place";
        (nothing_drawn, what, to_set_out, "To setting out")
    } else if job.pieces.is_empty() {
        let to_job = Route::Job {
            job: job_id,
            piece: None,
        };
        let what = "Say how many pieces the run has, and which castings they are made of";
        (
            "This job has no piece yet",
            what,
            to_job,
            "Pieces and castings",
        )
    } else {
        let what = "See what setting out still asks for";
        (
            "There is nothing to print here yet",
            what,
            to_set_out,
            "To setting out",
        )
    }
}

/// A job in which nothing can be printed yet.
#[component]
fn Nothing() -> impl IntoView {
    let session = session();
    let wants = move || {
        session
            .book
            .with(|b| b.as_ref().map(|b| still_wants(&b.job)))
    };
    move || {
        wants().map(|(why, what, to, where_to)| {
            view! {
                <section class="absent sheet">
                    <h1>{why}</h1>
                    <p>{what}</p>
                    <div class="actions">
                        <a class="key main" href=to.address()>{where_to}</a>
                    </div>
                </section>
            }
        })
    }
}

#[component]
fn Title(press: Press) -> impl IntoView {
    let view = Memo::new(move |_| match press.looked.get() {
        Looked::View(v) => (say::job::capital(&v.title), v.laying.clone()),
        // A line, as how it is laid will take: what stands below does not move when that comes.
        Looked::Making => ("Making the template…".into(), "\u{a0}".into()),
        Looked::Cannot(why) => ("This template can’t be made yet".into(), why),
        Looked::Nothing => (String::new(), String::new()),
    });
    // What is missing is entered there.
    let session = session();
    let at = move |to: fn(JobId, Option<PieceId>) -> Route| {
        let route = session.route.get();
        let piece = route.piece().cloned();
        route
            .job()
            .cloned()
            .map_or_else(|| "#/".to_owned(), |job| to(job, piece).address())
    };
    let to_castings = move || at(|job, piece| Route::Job { job, piece });
    let to_measure = move || {
        at(|job, piece| Route::Measure {
            job,
            piece,
            casting: None,
        })
    };
    view! {
        <div class="title" aria-live="polite">
            <h1>{move || view.get().0}</h1>
            <p>{move || view.get().1}</p>
            <Show when=move || press.looked.with(|l| matches!(l, Looked::Cannot(_)))>
                <p class="template-missing">
                    <a class="key" href=to_castings>"Pieces and castings"</a>
                    <a class="key" href=to_measure>"Measure this piece"</a>
                </p>
            </Show>
        </div>
    }
}

/// Why an older print no longer matches, as wide as the page: beside the papers it was a narrow column.
#[component]
fn Stale(press: Press) -> impl IntoView {
    let stale = Memo::new(move |_| match press.looked.get() {
        Looked::View(v) => v.stale.clone(),
        _ => None,
    });
    view! {
        <div aria-live="polite">
            {move || {
                stale
                    .get()
                    .map(|why| {
                        view! {
                            <p class="stale">
                                <b>"An older print of it no longer matches. "</b>
                                {why}
                            </p>
                        }
                    })
            }}
        </div>
    }
}

/// The template as it lies in place on its piece.
#[component]
fn Turn(press: Press, hand: Memo<Option<(PieceId, FeatureId)>>) -> impl IntoView {
    let of = Memo::new(move |_| {
        let made = press.looked.with(|l| matches!(l, Looked::View(_)));
        let (piece, feature) = hand.get().filter(|_| made)?;
        Some(SolidOf::Template { feature, piece })
    });
    view! { <TurnIt of=of on_pick=|_| {} /> }
}

#[component]
fn Features(hand: Memo<Option<(PieceId, FeatureId)>>) -> impl IntoView {
    let session = session();
    let keys = Memo::new(move |_| {
        let (route, survey) = (session.route.get(), session.survey.get());
        match (session.book.get(), hand.get()) {
            (Some(book), Some((piece, _))) => {
                feature_keys(&book.job, survey.as_deref(), &route, &piece)
            }
            _ => Vec::new(),
        }
    });
    view! {
        <Show when=move || keys.with(|k| k.len() > 1)>
            <nav class="features" aria-label="Features of this piece">
                <For each=move || keys.get() key=|k| (k.address.clone(), k.error.clone(), k.stale, k.name.clone()) let(key)>
                    {
                        let id = key.id.clone();
                        let here = move || hand.with(|h| h.as_ref().is_some_and(|h| h.1 == id));
                        view! {
                            <a href=key.address.clone() aria-current=move || here().then_some("true")>
                                <span>{key.name.clone()}</span>
                                <span class="figure">
                                    <Fits fits=key.fits />
                                    {key.error.clone()}
                                </span>
                                {key.stale.then(|| view! { <span class="second">"print again"</span> })}
                            </a>
                        }
                    }
                </For>
            </nav>
        </Show>
    }
}

#[component]
fn Actions(press: Press, paper: Memo<Paper>) -> impl IntoView {
    let ready = move || press.pdf.with(Option::is_some);
    let session = session();
    let noted = move |v: &TemplateView| {
        let of_piece = |b: &Arc<Book>| {
            let mut printed = b.job.printed.about(&v.piece);
            printed.any(|p| p.says.reference == v.reference)
        };
        let noted = session.book.with(|b| b.as_ref().is_some_and(of_piece));
        if noted { "printed once; " } else { "" }
    };
    let under = move || match (press.looked.get(), press.pdf.get()) {
        (Looked::View(v), Some(_)) => {
            let bars = if v.proved {
                "printer proved: read both bars"
            } else {
                "size not proved: measure both bars"
            };
            format!("{}{}, {bars}", noted(&v), v.paper)
        }
        (Looked::View(_), None) => "making the PDF…".to_owned(),
        (Looked::Making, _) => "making the template…".to_owned(),
        _ => "can’t be made yet: see above".to_owned(),
    };
    let what = move || match press.looked.get() {
        Looked::View(v) => format!("Print {}", lower(&v.title)),
        _ => "Print".to_owned(),
    };
    let to_printer = move || {
        let route = session.route.get();
        let job = route.job().cloned();
        job.map_or_else(|| "#/".to_owned(), |job| Route::Printer { job }.address())
    };
    let proof = move || match press.looked.get() {
        Looked::View(v) => v.proof.clone(),
        _ => String::new(),
    };
    let off = move || if ready() { "false" } else { "true" };
    let busy = move |kind: FileKind| press.busy.get() == Some(kind);
    view! {
        <div class="template-actions">
            <button
                type="button"
                class="key main big"
                aria-disabled=off
                on:click=move |_| press.print()
            >
                <strong>{what}</strong>
                <span>{under}</span>
            </button>
            <a class="key to-printer" href=to_printer title=proof>
                "Printer check"
            </a>
            <button type="button" class="key" aria-disabled=off on:click=move |_| press.download()>
                "Download PDF"
            </button>
            {share::possible()
                .then(|| {
                    view! {
                        <button
                            type="button"
                            class="key"
                            aria-disabled=off
                            on:click=move |_| press.share()
                        >
                            "Share PDF"
                        </button>
                    }
                })}
        </div>
        <div class="template-more" role="group" aria-label="Other files, and rods">
            <button type="button" class="key" aria-disabled=off on:click=move |_| press.save(FileKind::Svg)>
                {move || if busy(FileKind::Svg) { "Making…" } else { "Download SVG" }}
            </button>
            <button type="button" class="key" aria-disabled=off on:click=move |_| press.save(FileKind::Dxf)>
                {move || if busy(FileKind::Dxf) { "Making…" } else { "Download DXF for a cutter" }}
            </button>
            <button type="button" class="key" aria-disabled=off on:click=move |_| press.save(FileKind::DxfR12)>
                {move || if busy(FileKind::DxfR12) { "Making…" } else { "DXF for an older cutter (R12)" }}
            </button>
            <button type="button" class="key" on:click=move |_| press.rods(false)>
                {move || if press.rodding.get() { "Making…" } else { "Rod for this piece" }}
            </button>
            <button type="button" class="key" on:click=move |_| press.rods(true)>
                {move || if press.rodding.get() { "Making…" } else { "Rods for the run" }}
            </button>
            <WholeRun paper=paper />
        </div>
        <p class="second">{crate::say::FOR_A_CUTTER}</p>
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{FeatureEdit, JobId, Ledger, PieceEdit};

    #[test]
    fn an_address_without_piece_or_feature_means_the_first() {
        let mut job = Ledger::new(JobId::new("j").unwrap()).fold();
        let route = Route::read("#/j/j");
        assert_eq!(in_hand(&job, &route), None);
        for n in [10, 2] {
            let id = PieceId::new(&n.to_string()).unwrap();
            job.pieces.insert(
                id,
                PieceEdit {
                    number: Some(n),
                    batch: None,
                },
            );
        }
        for id in ["eye-left", "eye-right"] {
            job.features
                .insert(FeatureId::new(id).unwrap(), FeatureEdit::default());
        }
        let hand = |address: &str| {
            let (p, f) = in_hand(&job, &Route::read(address)).unwrap();
            format!("{p} {f}")
        };
        assert_eq!(hand("#/j/j"), "2 eye-left");
        assert_eq!(hand("#/j/j/p/10/templates/eye-right"), "10 eye-right");
        assert_eq!(hand("#/j/j/p/99/templates/nose"), "2 eye-left");

        assert_eq!(still_wants(&job).3, "To setting out");

        // Features made on a screen have ids of chance: the first by name is meant.
        let badge = FeatureEdit {
            name: Some("badge".into()),
            ..FeatureEdit::default()
        };
        let brow = FeatureEdit {
            name: Some("brow".into()),
            ..FeatureEdit::default()
        };
        job.features.clear();
        job.features.insert(FeatureId::new("x1").unwrap(), brow);
        job.features.insert(FeatureId::new("z9").unwrap(), badge);
        let first = in_hand(&job, &route).unwrap().1;
        assert_eq!(first.as_str(), "z9");
        job.pieces.clear();
        assert_eq!(still_wants(&job).3, "Pieces and castings");
        job.features.clear();
        assert_eq!(still_wants(&job).3, "To setting out");
    }
}
