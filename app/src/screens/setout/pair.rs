//! Two features made a pair: the other one made by mirroring, and how far the two may be out.

use super::hand::Hand;
use super::{model, pair_model};
use crate::ports::ids;
use crate::say::numbers;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{
    EntityRef, Entry, FaceId, FeatureId, Hand as Handed, MarkId, PairEdit, PairId, PointRef,
};
use samespot_core::prepare::feature_title;
use samespot_core::prepare::setout::{ImageProof, MadeView};

/// What a feature of a pair has to do with the other one.
#[component]
pub(super) fn PairForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let handed = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id)?.hand))
            .flatten()
            .is_some()
    });
    let pair = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.pair_of(id).map(|(id, _)| id.clone())))
            .flatten()
    });
    view! {
        <Show when=move || handed.get() || pair.get().is_some()>
            {move || match pair.get() {
                Some(pair) => view! { <Together hand=hand feature=id.get_value() pair=pair /> }.into_any(),
                None => view! { <TheOther hand=hand feature=id.get_value() /> }.into_any(),
            }}
        </Show>
    }
}

/// How far the two may be out, and the other one.
#[component]
fn Together(hand: Hand, feature: FeatureId, pair: PairId) -> impl IntoView {
    let now = hand
        .with_job(|j| j.pairs.get(&pair).cloned())
        .flatten()
        .unwrap_or_default();
    let other = [&now.left, &now.right]
        .into_iter()
        .flatten()
        .find(|f| **f != feature)
        .cloned();
    let title = other.as_ref().and_then(|o| {
        hand.with_job(|j| j.features.get(o).map(feature_title))
            .flatten()
    });
    let linked = now.mirrored().is_some();
    let on = StoredValue::new(pair);
    let typed = |l: Option<samespot_core::units::Length>| {
        Typing::new(l.map(|l| Entry::of_mm(l.mm())).as_ref())
    };
    let (level, apart, equal) = (typed(now.level), typed(now.apart), typed(now.equal));
    let distance = Typing::new(now.distance.as_ref());
    let done = Callback::new(move |_: bool| {
        let mm = |t: Typing| t.entry_now().map(|e| e.mm).filter(|l| l.mm() > 0.0);
        hand.say_if_new(
            EntityRef::Pair(on.get_value()),
            &PairEdit {
                level: mm(level),
                apart: mm(apart),
                equal: mm(equal),
                distance: distance.entry_now().filter(|e| e.mm.mm() > 0.0),
                ..PairEdit::default()
            },
        );
    });
    let two_faces = other.as_ref().is_some_and(|o| {
        hand.with_job(|j| {
            let face = |f: &FeatureId| j.features.get(f).and_then(|f| f.face.clone());
            face(o) != face(&feature)
        })
        .unwrap_or_default()
    });
    let open = other.clone();
    let words = title.clone().unwrap_or_default();
    let one = StoredValue::new(feature);
    view! {
        <div class="setout-pair">
            <p class="legend">{format!("A pair with {words}")}</p>
            {linked.then(|| view! { <p class="second">{format!("{words} is made from this one: whatever changes here changes there, the other way round")}</p> })}
            <div class="fields">
                <TypedLength id="pair-level" label="Level within" typing=level done=done />
                <TypedLength id="pair-apart" label="Apart within" typing=apart done=done />
                <TypedLength id="pair-equal" label="Equal either side within" typing=equal done=done />
            </div>
            {two_faces.then(|| view! {
                <TypedLength id="pair-distance" label="How far apart, middle to middle, straight" typing=distance done=done />
            })}
            <div class="job-row">
                {open.filter(|_| !two_faces).map(|o| view! {
                    <button type="button" class="key" on:click=move |_| hand.choose(Some(PointRef::Feature(o.clone())))>
                        {format!("Open {words}")}
                    </button>
                })}
            </div>
            {(!linked).then(|| view! { <ByMirroring hand=hand feature=one.get_value() /> })}
        </div>
    }
}

/// The other one is not in a pair with this one yet.
#[component]
fn TheOther(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let waiting = Memo::new(move |_| {
        hand.of_job(|j| {
            let other = id.with_value(|id| pair_model::waiting(j, id))?;
            let title = feature_title(j.features.get(&other)?);
            Some((other, title))
        })
        .flatten()
    });
    view! {
        <div class="setout-pair">
            {move || waiting.get().map(|(other, title)| view! {
                <button type="button" class="key" on:click=move |_| {
                    let said = hand.with_job(|j| id.with_value(|id| pair_model::make_pair(j, id, &other, &mut ids::thing)));
                    hand.say(&said.flatten().unwrap_or_default());
                }>{format!("Make it a pair with {title}, which has its own readings")}</button>
            })}
            <ByMirroring hand=hand feature=id.get_value() />
        </div>
    }
}

/// The other one made by mirroring: across what is chosen, never proposed.
#[component]
fn ByMirroring(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let how = RwSignal::new(String::new());
    let of = move || {
        hand.of_job(|j| id.with_value(|id| j.features.get(id).cloned()))
            .flatten()
    };
    let title = move || {
        of().and_then(|f| pair_model::other_title(&f))
            .unwrap_or_default()
    };
    let start = hand
        .with_job(|j| id.with_value(|id| j.features.get(id).and_then(pair_model::followed)))
        .flatten();
    let two = RwSignal::new(start.map(|[a, b]| [Some(a), Some(b)]).unwrap_or_default());
    let face = RwSignal::new(None::<FaceId>);
    let twins = RwSignal::new([None, None]);
    let faces = move || {
        let own = hand.face.get()?;
        hand.of_job(|j| pair_model::other_faces(j, &own))
    };
    let letter = move |m: &MarkId| {
        hand.of_job(|j| j.marks.get(m).and_then(|m| m.letter.clone()))
            .flatten()
            .unwrap_or_default()
    };
    let across = move || {
        let [Some(a), Some(b)] = two.get() else {
            return None;
        };
        pair_model::mirror(&how.get(), [a, b], twins.get())
    };
    let make = move |_| {
        let (Some(across), Some(own)) = (across(), hand.face.get_untracked()) else {
            return;
        };
        let on = if how.get_untracked() == "twins" {
            face.get_untracked()
        } else {
            Some(own.clone())
        };
        let made = on.and_then(|on| {
            hand.with_job(|j| {
                id.with_value(|id| pair_model::make_other(j, id, across, &on, &mut ids::thing))
            })
            .flatten()
            .map(|made| (made, on))
        });
        if let Some(((image, said), on)) = made {
            hand.say(&said);
            if on == own {
                hand.choose(Some(PointRef::Feature(image)));
            } else {
                hand.session.notice(
                    "Made. Open its face to see it, and to prove the mirror with one reading",
                    false,
                );
            }
        }
    };
    let pick = move |label: Signal<String>,
                     id: &'static str,
                     on: Signal<Option<FaceId>>,
                     list: RwSignal<[Option<MarkId>; 2]>,
                     k: usize| {
        let options = move || {
            on.get()
                .and_then(|f| hand.of_job(|j| model::marks(j, &f)))
                .unwrap_or_default()
        };
        view! {
            <label class="job-field short">
                <span>{label}</span>
                <select id=id on:change=move |ev| {
                    let mark = MarkId::new(&event_target_value(&ev)).ok();
                    list.update(|l| if let Some(place) = l.get_mut(k) { *place = mark });
                }>
                    <option value="">"choose"</option>
                    {move || options().into_iter().map(|(m, letter)| {
                        let taken = list.with(|l| l.get(k).is_some_and(|t| t.as_ref() == Some(&m)));
                        view! { <option value=m.to_string() selected=taken>{letter}</option> }
                    }).collect_view()}
                </select>
            </label>
        }
    };
    let own = Signal::derive(move || hand.face.get());
    let there = Signal::derive(move || face.get());
    let twin_of = move |k: usize| {
        Signal::derive(move || {
            let mark = two.with(|t| t.get(k).cloned().flatten());
            format!("Twin of {}", mark.map(|m| letter(&m)).unwrap_or_default())
        })
    };
    let means = move || {
        let [Some(a), Some(b)] = two.get() else {
            return None;
        };
        let (of, other) = (feature_title(&of()?), title());
        let (a, b) = (letter(&a), letter(&b));
        Some(match how.get().as_str() {
            "halfway" => format!(
                "{other} will lie as far from {b} as {of} is from {a}, on the same side of the line {a}–{b}"
            ),
            "through" => format!(
                "{other} will lie as far from {a} and {b} as {of} is, on the other side of the line {a}–{b}"
            ),
            "twins" => format!(
                "{other} will lie as far from the twins of {a} and {b} as {of} is from {a} and {b}. A twin is the same spot on the figure’s other side"
            ),
            _ => return None,
        })
    };
    view! {
        <Choices
            legend="Make the other one by mirroring this one"
            shown=true
            choices=vec![
                Choice::words("halfway", "across the line halfway between two marks"),
                Choice::words("through", "across the line through two marks"),
                Choice::words("twins", "onto another face"),
            ]
            taken=how
            take=move |v: String| how.set(v)
        />
        <Show when=move || !how.get().is_empty()>
            <div class="job-row">
                {pick(Signal::derive(|| "One mark".to_owned()), "mirror-from", own, two, 0)}
                {pick(Signal::derive(|| "The other".to_owned()), "mirror-to", own, two, 1)}
            </div>
        </Show>
        <Show when=move || how.get() == "twins">
            <label class="job-field">
                <span>"On which face?"</span>
                <select id="mirror-face" on:change=move |ev| {
                    face.set(FaceId::new(&event_target_value(&ev)).ok());
                    twins.set([None, None]);
                }>
                    <option value="">"choose"</option>
                    {move || faces().unwrap_or_default().into_iter().map(|(f, words)| {
                        view! { <option value=f.to_string()>{words}</option> }
                    }).collect_view()}
                </select>
            </label>
            <div class="job-row">
                {pick(twin_of(0), "twin-from", there, twins, 0)}
                {pick(twin_of(1), "twin-to", there, twins, 1)}
            </div>
        </Show>
        <p class="second" role="status">{means}</p>
        <Show when=move || !how.get().is_empty()>
            <button type="button" id="mirror-make" class="key" on:click=make
                aria-disabled=move || if across().is_some() { "false" } else { "true" }>
                {move || if across().is_some() {
                    format!("Make {}", title())
                } else {
                    "Choose the marks to make it".to_owned()
                }}
            </button>
        </Show>
    }
}

fn proof_words(proof: &ImageProof) -> String {
    let must = numbers::tenth(proof.must_be);
    match (proof.read, proof.unturned) {
        (Some(read), _) if proof.wrong => format!(
            "From {} it was read {}, and must be {must}. Mirrored the wrong way, or from the wrong marks? Nothing is to be printed before this is settled",
            proof.letter,
            numbers::tenth(read)
        ),
        (Some(read), _) => format!(
            "From {} it was read {}, and must be {must}: mirrored the right way",
            proof.letter,
            numbers::tenth(read)
        ),
        (None, Some(unturned)) if (unturned - proof.must_be).mm().abs() > 10.0 => format!(
            "From {} the tape must read {must}. If it reads {}, the mirror is the wrong way round",
            proof.letter,
            numbers::tenth(unturned)
        ),
        (None, _) => format!("From {} the tape must read {must}", proof.letter),
    }
}

/// A feature that is made from another.
#[component]
pub(super) fn ImageForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let made = Memo::new(move |_| -> Option<MadeView> {
        let view = hand.view()?;
        let own = view
            .features
            .iter()
            .find(|f| id.with_value(|id| f.feature == *id))?;
        own.made.clone()
    });
    let here = move || {
        let (Some(made), face) = (made.get(), hand.face.get()) else {
            return false;
        };
        hand.of_job(|j| j.features.get(&made.from).is_some_and(|f| f.face == face))
            .unwrap_or_default()
    };
    let side = move || {
        let hand = hand
            .of_job(|j| id.with_value(|id| j.features.get(id)?.hand))
            .flatten()?;
        Some(match hand {
            Handed::Left => "This is the figure’s own left one",
            Handed::Right => "This is the figure’s own right one",
        })
    };
    let proofs = move || {
        made.get()
            .map(|m| m.proofs)
            .unwrap_or_default()
            .into_iter()
            .map(|p| view! { <li class:odd=p.wrong>{proof_words(&p)}</li> })
            .collect_view()
    };
    let wrong = move || made.get().is_some_and(|m| m.proofs.iter().any(|p| p.wrong));
    let go = move |_| {
        let said =
            hand.with_job(|j| id.with_value(|id| pair_model::unlink(j, id, &mut ids::thing)));
        hand.say(&said.flatten().unwrap_or_default());
    };
    view! {
        <div class="setout-form">
            <p class="setout-done">{move || made.get().map(|m| m.says)}</p>
            <p class="second">{side}</p>
            <p class="legend">"Prove it on the pattern before anything is printed: one distance is enough"</p>
            <ul class="setout-proofs" class:wrong=wrong role="status">{proofs}</ul>
            <div class="job-row">
                <Show when=here>
                    <button type="button" class="key" on:click=move |_| {
                        if let Some(m) = made.get_untracked() {
                            hand.choose(Some(PointRef::Feature(m.from)));
                        }
                    }>{move || format!("Open {}, which it follows", made.get().map(|m| m.title).unwrap_or_default())}</button>
                </Show>
            </div>
            <details class="job-more">
                <summary>"Let it go its own way"</summary>
                <p class="second">"It keeps its shape and its rule, and wants readings of its own from then on"</p>
                <button type="button" class="key" on:click=go>"Unlink it (Undo links it again)"</button>
            </details>
        </div>
    }
}
