//! Other ways of carrying the feature in hand: one sheet for both of a pair, a shell or patches instead
//! of one sheet of paper.

use super::fewest::{download, headline, if_more_or_less, settled, shared};
use super::patches::InPatches;
use crate::ports::clock;
use crate::say::numbers::tenth;
use crate::state::{Session, session};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, FewestView, FileKind, Reply};
use samespot_core::job::{
    Edit, EntityRef, Entry, FaceShape, FeatureEdit, FeatureId, Job, OutlineSpec, PairId, Payload,
    PieceId, SheetOf,
};
use samespot_core::prepare::USUAL_SKIN;
use samespot_core::sheet::Paper;
use samespot_core::units::Length;
use std::sync::Arc;

/// Paper puckers on what is round both ways; elsewhere nobody wants a shell.
fn round_both_ways(job: &Job, feature: &FeatureId) -> bool {
    let face = job.features.get(feature).and_then(|f| f.face.as_ref());
    let shape = face
        .and_then(|f| job.faces.get(f))
        .and_then(|f| f.shape.as_ref());
    matches!(
        shape,
        Some(FaceShape::Dome { .. } | FaceShape::TwoRadii { .. } | FaceShape::Scan { .. })
    )
}

/// Gores alike are those of a circle or a ring on a dome.
fn in_gores(job: &Job, feature: &FeatureId) -> bool {
    let feature = job.features.get(feature);
    let face = feature.and_then(|f| job.faces.get(f.face.as_ref()?));
    let dome = matches!(
        face.and_then(|f| f.shape.as_ref()),
        Some(FaceShape::Dome { .. })
    );
    let round = matches!(
        feature.and_then(|f| f.outline.as_ref()),
        Some(OutlineSpec::Circle { .. } | OutlineSpec::Ring { .. })
    );
    dome && round
}

/// The pair a feature belongs to, where both lie on one face.
fn on_one_face(job: &Job, feature: &FeatureId) -> Option<(PairId, String)> {
    let (id, pair) = job.pair_of(feature)?;
    let face = |f: &Option<FeatureId>| job.features.get(f.as_ref()?)?.face.clone();
    let (left, right) = (face(&pair.left)?, face(&pair.right)?);
    (left == right).then(|| (id.clone(), pair.name.clone().unwrap_or_default()))
}

/// What is offered beside the template in hand: each closed, and nothing worked out, until asked for.
#[component]
pub fn OtherWays(hand: Memo<Option<(PieceId, FeatureId)>>, paper: Memo<Paper>) -> impl IntoView {
    let session = session();
    let of_job = move |read: fn(&Job, &FeatureId) -> Option<(PairId, String)>| {
        let id = hand.with(|h| h.as_ref().map(|h| h.1.clone()))?;
        session.book.with(|b| read(&b.as_ref()?.job, &id))
    };
    let pair = Memo::new(move |_| of_job(on_one_face));
    let shell = Memo::new(move |_| {
        let id = hand.with(|h| h.as_ref().map(|h| h.1.clone()))?;
        let offered = session
            .book
            .with(|b| b.as_ref().is_some_and(|b| round_both_ways(&b.job, &id)));
        offered.then_some(id)
    });
    let strips = Memo::new(move |_| {
        let id = hand.with(|h| h.as_ref().map(|h| h.1.clone()))?;
        let offered = session
            .book
            .with(|b| b.as_ref().is_some_and(|b| in_gores(&b.job, &id)));
        offered.then_some(id)
    });
    let piece = Memo::new(move |_| hand.with(|h| h.as_ref().map(|h| h.0.clone())));
    view! {
        {move || pair.get().map(|(id, name)| view! {
            <Way
                of=SheetOf::Pair(id)
                title=format!("{} on one sheet", if name.is_empty() { "Both of the pair".into() } else { name })
                sub="laid once, level and apart as designed"
                intro="Both outlines on one template: the two are placed together by their marks, and their spacing is held as it was designed."
                noun="template"
                alone=piece
                paper=paper
            />
        })}
        {move || shell.get().map(|id| (id.clone(), id.clone(), id)).map(|(id, again, run)| view! {
            <Way
                of=SheetOf::Shell(id.clone())
                title="A shell instead of paper".to_owned()
                sub="rigid, used again on every piece"
                intro="Lay up a thin skin over a good casting with release film between, and pull it off. The sheet marks the opening and a register hole for every mark on it. Measure its distances, lay it back once on the approved piece, and hang it on the rack."
                noun="shell"
                paper=paper
            >
                <Skin feature=id />
            </Way>
            <InPatches hand=hand feature=again paper=paper />
            <Way
                of=SheetOf::Patches(run)
                title="Patches for the run".to_owned()
                sub="one set for as many pieces as it serves"
                intro="Pieces that share a set are divided alike. Each patch of it lies within what is allowed on every piece of the set, on the marks themselves."
                noun="set"
                over_run=true
                paper=paper
            />
        })}
        {move || strips.get().map(|id| view! {
            <InPatches hand=hand feature=id paper=paper as_gores=true />
        })}
    }
}

/// One of them.
#[component]
fn Way(
    of: SheetOf,
    title: String,
    sub: &'static str,
    intro: &'static str,
    noun: &'static str,
    /// The piece in hand, where one for it alone is of use.
    #[prop(optional)]
    alone: Option<Memo<Option<PieceId>>>,
    /// The same for one piece stands beside it.
    #[prop(optional)]
    over_run: bool,
    paper: Memo<Paper>,
    #[prop(optional)] children: Option<Children>,
) -> impl IntoView {
    let session = session();
    let of = StoredValue::new(of);
    let name = of.with_value(SheetOf::to_string) + if over_run { "-run" } else { "" };
    let wanted = RwSignal::new(false);
    let making = RwSignal::new(false);
    let found = RwSignal::new(None::<Result<Arc<FewestView>, String>>);
    let asked = StoredValue::new(0_u32);
    Effect::new(move |_| {
        let Some(book) = session.book.get().filter(|_| wanted.get()) else {
            return;
        };
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        let ask = Ask::Fewest {
            job: book.id().clone(),
            of: of.get_value(),
            within: None,
        };
        spawn_local(async move {
            // Not apart: the fewest templates are worked out there, and one would break the other off.
            let says = match Session::ask(book, ask).await {
                Ok((Reply::Fewest(view), _)) => Ok(Arc::from(view)),
                Ok(_) => return,
                Err(sentence) => Err(sentence),
            };
            if asked.try_get_value() == Some(number) {
                let _ = found.try_set(Some(says));
            }
        });
    });
    let save = move |_| {
        let Some(book) = session.book.get_untracked() else {
            return;
        };
        if !making.get_untracked() {
            making.set(true);
            let of = of.get_value();
            spawn_local(download(session, book, of, paper.get_untracked(), making));
        }
    };
    let save_alone = move |piece: PieceId| {
        let Some(book) = session.book.get_untracked() else {
            return;
        };
        let ask = Ask::File {
            job: book.id().clone(),
            kind: FileKind::Pdf,
            of: Some(of.get_value()),
            pieces: vec![piece],
            paper: paper.get_untracked(),
            day: clock::day(),
        };
        spawn_local(session.download(book, ask, making));
    };
    let number = move |piece: &PieceId| {
        let number = session
            .book
            .with(|b| b.as_ref().and_then(|b| b.job.pieces.get(piece)?.number));
        number.map_or_else(|| piece.to_string(), |n| n.to_string())
    };
    let says = move || {
        Some(match found.get()? {
            Err(why) => view! { <p role="alert">{crate::say::job::capital(&why)}</p> }.into_any(),
            Ok(view) => {
                let many = view.templates.len() > 1;
                let key = move || match (making.get(), many) {
                    (true, _) => "Making…".to_owned(),
                    (false, false) => format!("Download the sheet of the {noun} (PDF)"),
                    (false, true) => format!("Download the sheets of the {noun}s (PDF)"),
                };
                let one = move || {
                    let piece = alone?.get()?;
                    let says = format!("For piece {} alone (PDF)", number(&piece));
                    Some(view! {
                        <button type="button" class="key" on:click=move |_| save_alone(piece.clone())>
                            {says}
                        </button>
                    })
                };
                view! {
                    <p>
                        <strong>{headline(&view).replace("template", noun)}</strong>
                        <span class="second">{format!(" · {} mm allowed", tenth(view.allowed))}</span>
                    </p>
                    {settled(&view).map(|s| view! { <p class="second">{s}</p> })}
                    <ul class="shared">{view.templates.iter().map(shared).collect_view()}</ul>
                    {view.without.iter().map(|s| view! { <p class="second">{s.clone()}</p> }).collect_view()}
                    {if_more_or_less(&view, noun)}
                    <div class="otherwise-keys">
                        {one}
                        <button type="button" class="key" on:click=save>{key}</button>
                    </div>
                }
                .into_any()
            }
        })
    };
    view! {
        <details class="fewest otherwise sheet" data-of=name>
            <summary on:click=move |_| wanted.set(true)>
                <strong>{title}</strong>
                <span class="second">{sub}</span>
            </summary>
            <p>{intro}</p>
            {children.map(|c| c())}
            {says}
        </details>
    }
}

/// How thick the skin is.
#[component]
fn Skin(feature: FeatureId) -> impl IntoView {
    let session = session();
    let id = StoredValue::new(feature);
    let said = move || {
        session.book.with_untracked(|b| {
            let job = &b.as_ref()?.job;
            id.with_value(|id| job.features.get(id))?.skin
        })
    };
    let skin = Typing::of_length(Some(&Entry::of_mm(said().unwrap_or(USUAL_SKIN).mm())));
    let done = move |_: bool| {
        let Some(entry) = skin.entry_now().filter(|e| e.mm > Length::ZERO) else {
            return;
        };
        let set = FeatureEdit {
            skin: Some(entry.mm),
            ..FeatureEdit::default()
        };
        if said() != set.skin
            && let Ok(edit) = Edit::of(EntityRef::Feature(id.get_value()), &set)
        {
            session.say(&[Payload::Edit(edit)]);
        }
    };
    view! { <TypedLength id="shell-skin" label="The skin is so thick" typing=skin done=done /> }
}
