//! The fewest templates of the feature in hand: how many, which for which piece, how they are laid.

use crate::ports::clock;
use crate::say;
use crate::say::numbers::tenth;
use crate::state::{Book, Session, session};
use crate::widgets::marks::Fits;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, CurveView, FewestView, FileKind, Reply, SharedView};
use samespot_core::job::{FeatureId, PieceId, SheetOf};
use samespot_core::sheet::Paper;
use std::sync::Arc;

/// Nothing is worked out while somebody is still tapping from feature to feature.
const QUIET_MS: i32 = 250;

/// The run in one sentence.
#[must_use]
pub fn headline(view: &FewestView) -> String {
    let pieces: usize = view.templates.iter().map(|t| t.errors.len()).sum();
    match view.templates.as_slice() {
        [one] if pieces > 1 => format!("One template serves pieces {}", one.pieces),
        [_] => "One piece, one template".to_owned(),
        several if several.len() == pieces => {
            format!("Each of the {pieces} pieces needs a template of its own")
        }
        several => format!("{} templates serve the {pieces} pieces", several.len()),
    }
}

/// Whether fewer could do, where that is not settled.
#[must_use]
pub fn settled(view: &FewestView) -> Option<String> {
    (view.at_least < view.templates.len()).then(|| {
        format!(
            "Fewer may do, but never fewer than {}: the search was cut short",
            view.at_least
        )
    })
}

/// *2 mm: 3 templates*, and what no template can hold.
#[must_use]
pub fn step(point: &CurveView, noun: &str) -> String {
    let many = if point.templates == 1 { "" } else { "s" };
    let beyond = match point.beyond {
        0 => String::new(),
        1 => ", and 1 piece not even with its own".to_owned(),
        n => format!(", and {n} pieces not even with their own"),
    };
    format!("{} {noun}{many}{beyond}", point.templates)
}

/// How many it takes against what is allowed, where there is something to say.
pub(super) fn if_more_or_less(
    view: &FewestView,
    noun: &'static str,
) -> Option<impl IntoView + use<>> {
    let here = (view.curve.iter().rev())
        .map(|c| c.tolerance)
        .find(|t| *t <= view.allowed);
    let row = |c: &CurveView| {
        view! {
            <tr class:here=here == Some(c.tolerance)>
                <th scope="row" class="figure">{format!("from {} mm", tenth(c.tolerance))}</th>
                <td>{step(c, noun)}</td>
            </tr>
        }
    };
    (!view.curve.is_empty()).then(|| {
        view! {
            <div>
                <h2>"If more or less were allowed"</h2>
                <table class="curve">
                    <tbody>{view.curve.iter().map(row).collect_view()}</tbody>
                </table>
                <p class="second">
                    {format!("No {noun} is shared where a cross would lie more than 3 mm off its mark")}
                </p>
            </div>
        }
    })
}

/// What is known of them.
#[derive(Clone)]
enum Found {
    /// There is nothing to know: one piece, or no answer.
    Nothing,
    Working,
    View(Arc<FewestView>),
}

/// The panel.
#[component]
pub fn FewestPanel(hand: Memo<Option<(PieceId, FeatureId)>>, paper: Memo<Paper>) -> impl IntoView {
    let session = session();
    let found = RwSignal::new(Found::Nothing);
    let making = RwSignal::new(false);
    let asked = StoredValue::new(0_u32);
    let feature = Memo::new(move |_| hand.with(|h| h.as_ref().map(|h| h.1.clone())));
    Effect::new(move |before: Option<Option<FeatureId>>| {
        let wanted = feature.get();
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        if before.is_none_or(|b| b != wanted) {
            found.set(Found::Nothing);
        }
        if let (Some(book), Some(feature)) = (session.book.get(), wanted.clone())
            && book.job.pieces.len() > 1
        {
            if found.with_untracked(|f| matches!(f, Found::Nothing)) {
                found.set(Found::Working);
            }
            spawn_local(async move {
                clock::pause(QUIET_MS).await;
                let here = || asked.try_get_value() == Some(number);
                if !here() {
                    return;
                }
                let ask = Ask::Fewest {
                    job: book.id().clone(),
                    of: SheetOf::Feature(feature),
                    within: None,
                };
                let says = Session::ask_apart(book, ask).await;
                if here() {
                    let view = match says {
                        Ok((Reply::Fewest(view), _)) => Found::View(Arc::from(view)),
                        _ => Found::Nothing,
                    };
                    let _ = found.try_set(view);
                }
            });
        }
        wanted
    });
    let save = move |_| {
        let (Some(book), Some(feature)) = (session.book.get_untracked(), feature.get_untracked())
        else {
            return;
        };
        if !making.get_untracked() {
            making.set(true);
            spawn_local(download(
                session,
                book,
                SheetOf::Feature(feature),
                paper.get_untracked(),
                making,
            ));
        }
    };
    let shown = move |view: Arc<FewestView>| {
        let count = view.templates.len();
        let shares = view.templates.iter().any(|t| t.errors.len() > 1);
        let key = move || match (making.get(), count) {
            (true, _) => "Making…".to_owned(),
            (false, 1) => "Download that template (PDF)".to_owned(),
            (false, n) => format!("Download the {n} templates (PDF)"),
        };
        view! {
            <details class="fewest sheet" open=count == 1 && shares>
                <summary>
                    <strong>{headline(&view)}</strong>
                    <span class="second">{format!("{} mm allowed", tenth(view.allowed))}</span>
                </summary>
                {settled(&view).map(|s| view! { <p class="second">{s}</p> })}
                <ul class="shared">
                    {view.templates.iter().map(shared).collect_view()}
                </ul>
                {view.without.iter().map(|s| view! { <p class="second">{s.clone()}</p> }).collect_view()}
                <div class="fewest-foot">
                    {if_more_or_less(&view, "template")}
                    {shares
                        .then(|| {
                            view! {
                                <button type="button" class="key" on:click=save>
                                    {key}
                                </button>
                            }
                        })}
                </div>
            </details>
        }
    };
    move || match found.get() {
        Found::Nothing => None,
        // As tall as what comes: the template below it stays where it is.
        Found::Working => Some(
            view! {
                <div class="fewest sheet" role="status">
                    <p class="summary second">"Finding the fewest templates for the run…"</p>
                </div>
            }
            .into_any(),
        ),
        Found::View(view) => Some(shown(view).into_any()),
    }
}

/// A template and what it leaves.
pub(super) fn shared(template: &SharedView) -> impl IntoView + use<> {
    let errors: Vec<String> = template
        .errors
        .iter()
        .map(|(piece, left)| format!("{piece}: {}", tenth(*left)))
        .collect();
    let crosses: Vec<String> = template
        .crosses
        .iter()
        .map(|(letter, within)| format!("{letter} within {}", tenth(*within)))
        .collect();
    let one = template.errors.len() == 1;
    view! {
        <li>
            <p class="whose">
                <Fits fits=Some(template.fits) />
                <strong>
                    {if one { "Piece " } else { "Pieces " }} {template.pieces.clone()}
                </strong>
                <span class="figure">{format!("{} mm at worst", tenth(template.worst))}</span>
            </p>
            <p>{template.laying.clone()}</p>
            <p class="second">
                {format!("Crosses off their marks, mm: {}", crosses.join(", "))}
            </p>
            {template.rests.as_deref().map(|r| view! { <p>{say::job::capital(r)}</p> })}
            {template.otherwise.clone().map(|o| view! { <p class="second">{o}</p> })}
            {(!one)
                .then(|| {
                    view! {
                        <p class="second">
                            {format!("Worst error on each piece, mm: {}", errors.join(" · "))}
                        </p>
                        <p class="second">
                            {format!(
                                "The drawing’s own stencil would land up to {} mm off on one of them",
                                tenth(template.as_drawn),
                            )}
                        </p>
                    }
                })}
        </li>
    }
}

/// Makes the templates and saves them, recorded as printed.
pub(crate) async fn download(
    session: Session,
    book: Arc<Book>,
    of: SheetOf,
    paper: Paper,
    making: RwSignal<bool>,
) {
    let job = book.id().clone();
    let ask = Ask::FewestFile {
        job: job.clone(),
        of,
        within: None,
        kind: FileKind::Pdf,
        paper,
        day: clock::day(),
    };
    let made = Session::ask(book, ask).await;
    session.save_made(job, made, Some("Left out of the file"));
    let _ = making.try_set(false);
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::units::Length;

    fn template(pieces: &str, count: usize) -> SharedView {
        SharedView {
            pieces: pieces.into(),
            laying: String::new(),
            errors: (1..=count)
                .map(|n| (n.to_string(), Length::from_mm(1.0)))
                .collect(),
            worst: Length::from_mm(1.0),
            fits: true,
            crosses: Vec::new(),
            as_drawn: Length::ZERO,
            rests: None,
            otherwise: None,
        }
    }

    fn view(templates: Vec<SharedView>, at_least: usize) -> FewestView {
        FewestView {
            of: SheetOf::Feature(FeatureId::new("band").unwrap()),
            name: "Band".into(),
            allowed: Length::from_mm(3.0),
            templates,
            at_least,
            curve: Vec::new(),
            without: Vec::new(),
        }
    }

    #[test]
    fn the_run_is_said_in_one_sentence() {
        let one = view(vec![template("1 to 18", 18)], 1);
        assert_eq!(headline(&one), "One template serves pieces 1 to 18");
        let some = view(vec![template("1 to 5", 5), template("6", 1)], 2);
        assert_eq!(headline(&some), "2 templates serve the 6 pieces");
        let each = view(vec![template("1", 1), template("2", 1)], 2);
        assert_eq!(
            headline(&each),
            "Each of the 2 pieces needs a template of its own"
        );
        assert_eq!(settled(&each), None);
        let open = view(
            vec![template("1", 1), template("2", 1), template("3", 1)],
            2,
        );
        assert!(settled(&open).unwrap().contains("never fewer than 2"));
    }

    #[test]
    fn the_curve_says_what_no_template_holds() {
        let point = |templates, beyond| CurveView {
            tolerance: Length::from_mm(1.0),
            templates,
            beyond,
        };
        assert_eq!(step(&point(1, 0), "template"), "1 template");
        assert_eq!(step(&point(3, 0), "set"), "3 sets");
        assert_eq!(
            step(&point(4, 1), "template"),
            "4 templates, and 1 piece not even with its own"
        );
    }
}
