//! The outline in hand in patches, or as gores alike, where paper is too round for one sheet.

use crate::ports::clock;
use crate::say::numbers::tenth;
use crate::state::{Session, session};
use crate::widgets::marks::Fits;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, FileKind, GoresView, PatchView, PatchesView, Reply};
use samespot_core::job::{FeatureId, PieceId, SheetOf};
use samespot_core::sheet::Paper;
use samespot_core::units::Length;

/// *● to patch 2: ends up to 0.4 mm apart*, joined.
fn joins(patch: &PatchView) -> String {
    let all: Vec<String> = patch
        .joins
        .iter()
        .map(|j| {
            format!(
                "{} to patch {}: ends up to {} mm apart",
                j.symbol,
                j.other,
                tenth(j.step)
            )
        })
        .collect();
    all.join(" · ")
}

/// *Cut 12 alike*, what they leave, where they meet, which carry a cross.
fn gores(view: &GoresView, allowed: Length) -> impl IntoView {
    let (gap, overlap) = (view.gap, view.overlap);
    let meet = if gap.mm().max(overlap.mm()) < 0.05 {
        "their edges meet".to_owned()
    } else if gap >= overlap {
        format!("their edges stand up to {} mm apart", tenth(gap))
    } else {
        format!(
            "their edges lie up to {} mm over each other",
            tenth(overlap)
        )
    };
    view! {
        <ul class="shared">
            <li>
                <p class="whose">
                    <Fits fits=Some(view.worst <= allowed) />
                    <strong>{format!("Cut {} alike", view.count)}</strong>
                    <span class="figure">{format!("{} mm at worst", tenth(view.worst))}</span>
                </p>
                <p class="second">{format!("{} mm because paper is flat", tenth(view.flat))}</p>
                <p class="second">
                    {format!("{meet}; they are {} mm longer than the dome there", tenth(view.too_long))}
                </p>
                <p class="second">{format!("Crosses: {}", view.carried.join(", "))}</p>
            </li>
        </ul>
    }
}

/// Closed, and nothing worked out, until asked for.
#[component]
pub fn InPatches(
    hand: Memo<Option<(PieceId, FeatureId)>>,
    feature: FeatureId,
    paper: Memo<Paper>,
    /// As gores alike that butt edge to edge.
    #[prop(optional)]
    as_gores: bool,
) -> impl IntoView {
    let session = session();
    let of = StoredValue::new(match as_gores {
        true => SheetOf::Gores(feature),
        false => SheetOf::Patches(feature),
    });
    let (title, sub, intro, pdf) = if as_gores {
        (
            "As gores",
            "a circle or a ring on a dome, in strips alike, edge to edge",
            "One strip from the middle outwards, cut as often as it takes to go all round. Those with a cross are laid on their marks first, the others edge to edge between.",
            "Download the gore (PDF)",
        )
    } else {
        (
            "In patches",
            "where the face is too round for one sheet",
            "Each part of the outline has a sheet of its own, laid on marks of its own, one after the other. Where two meet, both carry the same line and symbol.",
            "Download the patches (PDF)",
        )
    };
    let wanted = RwSignal::new(false);
    let making = RwSignal::new(false);
    let found = RwSignal::new(None::<Result<PatchesView, String>>);
    let asked = StoredValue::new(0_u32);
    Effect::new(move |_| {
        let book = session.book.get().filter(|_| wanted.get());
        let (Some(book), Some((piece, feature))) = (book, hand.get()) else {
            return;
        };
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        let ask = Ask::Patches {
            job: book.id().clone(),
            feature,
            piece,
            as_gores,
        };
        spawn_local(async move {
            let says = match Session::ask(book, ask).await {
                Ok((Reply::Patches(view), _)) => Ok(view),
                Ok(_) => return,
                Err(sentence) => Err(sentence),
            };
            if asked.try_get_value() == Some(number) {
                let _ = found.try_set(Some(says));
            }
        });
    });
    let save = move |kind: FileKind| {
        let (Some(book), Some((piece, _))) = (session.book.get_untracked(), hand.get_untracked())
        else {
            return;
        };
        if making.get_untracked() {
            return;
        }
        let ask = Ask::File {
            job: book.id().clone(),
            kind,
            of: Some(of.get_value()),
            pieces: vec![piece],
            paper: paper.get_untracked(),
            day: clock::day(),
        };
        spawn_local(session.download(book, ask, making));
    };
    let key = move |kind: FileKind, says: &'static str| {
        view! {
            <button type="button" class="key" on:click=move |_| save(kind)>
                {move || if making.get() { "Making…" } else { says }}
            </button>
        }
    };
    let says = move || {
        Some(match found.get()? {
            Err(why) => view! { <p role="status">{crate::say::job::capital(&why)}</p> }.into_any(),
            Ok(view) => {
                let rows = view.patches.iter().enumerate().map(|(k, patch)| {
                    let joins = joins(patch);
                    view! {
                        <li>
                            <p class="whose">
                                <Fits fits=Some(patch.worst <= view.allowed) />
                                <strong>{format!("Patch {}, on {}", k + 1, patch.on)}</strong>
                                <span class="figure">{format!("{} mm at worst", tenth(patch.worst))}</span>
                            </p>
                            <p class="second">
                                {format!("{} mm because paper is flat", tenth(patch.flat))}
                            </p>
                            <p class="second">{joins}</p>
                        </li>
                    }
                });
                view! {
                    <p>
                        <strong>{match &view.gores {
                            Some(gores) => format!("{} gores", gores.count),
                            None => format!("{} patches", view.patches.len()),
                        }}</strong>
                        <span class="second">{format!(" · {} mm allowed", tenth(view.allowed))}</span>
                    </p>
                    {match &view.gores {
                        Some(all) => gores(all, view.allowed).into_any(),
                        None => view! { <ul class="shared">{rows.collect_view()}</ul> }.into_any(),
                    }}
                    {view.warnings.iter().map(|w| view! {
                        <p class="second">{crate::say::job::capital(w)}</p>
                    }).collect_view()}
                    <div class="otherwise-keys">
                        {key(FileKind::Pdf, pdf)}
                        {key(FileKind::Svg, "SVG")}
                        {key(FileKind::Dxf, "DXF")}
                    </div>
                    <p class="second">{crate::say::FOR_A_CUTTER}</p>
                }
                .into_any()
            }
        })
    };
    view! {
        <details class="fewest otherwise sheet" data-of=of.with_value(SheetOf::to_string)>
            <summary on:click=move |_| wanted.set(true)>
                <strong>{title}</strong>
                <span class="second">{sub}</span>
            </summary>
            <p>{intro}</p>
            {says}
        </details>
    }
}
