//! Crosses that were traced with a shape: which mark each is, and what that says of its place.

use super::hand::Hand;
use super::model;
use leptos::prelude::*;
use samespot_core::job::{FeatureId, MarkId};

/// Which mark each cross stands for; kept as distances on the pattern.
#[component]
pub(super) fn Crosses(
    hand: Hand,
    feature: FeatureId,
    /// From the middle of the shape, mm, and within what (95 %).
    crosses: RwSignal<(Vec<[f64; 2]>, f64)>,
) -> impl IntoView {
    let feature = StoredValue::new(feature);
    let named = RwSignal::new(Vec::<Option<MarkId>>::new());
    Effect::new(move |_| named.set(vec![None; crosses.with(|c| c.0.len())]));
    let marks = Memo::new(move |_| {
        hand.view()
            .map(|v| {
                let all = v.marks.iter();
                all.map(|m| (m.mark.clone(), m.letter.clone()))
                    .collect::<Vec<_>>()
            })
            .unwrap_or_default()
    });
    let told = move || {
        let (all, within) = crosses.get();
        let named = named.get();
        // By letter, which is the order the line of the first two goes by.
        let told = marks.get().into_iter().filter_map(|(mark, _)| {
            let k = named.iter().position(|n| n.as_ref() == Some(&mark))?;
            Some((mark, *all.get(k)?))
        });
        (told.collect::<Vec<_>>(), within)
    };
    let keep = move |_| {
        let (told, within) = untrack(told);
        let Some(casting) = hand.pattern() else {
            return;
        };
        let said =
            hand.with_job(|j| model::traced(j, &casting, &feature.get_value(), &told, within));
        hand.say(&said.unwrap_or_default());
        crosses.set((Vec::new(), 0.0));
    };
    let line = move |k: usize, [x, y]: [f64; 2]| {
        let way = format!(
            "{:.1} mm {} and {:.1} {} its middle",
            x.abs(),
            if x < 0.0 { "left of" } else { "right of" },
            y.abs(),
            if y < 0.0 { "below" } else { "above" },
        );
        view! {
            <label class="job-field">
                <span>{format!("The cross {way} is")}</span>
                <select id=format!("cross-{}", k + 1)
                    on:change=move |ev| {
                        let mark = MarkId::new(&event_target_value(&ev)).ok();
                        named.update(|all| {
                            // One mark, one cross.
                            all.iter_mut().filter(|n| **n == mark).for_each(|n| *n = None);
                            if let Some(own) = all.get_mut(k) {
                                *own = mark;
                            }
                        });
                    }>
                    <option value="">"no mark of this face"</option>
                    {move || marks.get().into_iter().map(|(mark, letter)| {
                        let is = named.with(|n| n.get(k).and_then(Option::as_ref) == Some(&mark));
                        view! { <option value=mark.to_string() selected=is>{format!("mark {letter}")}</option> }
                    }).collect_view()}
                </select>
            </label>
        }
    };
    view! {
        {move || {
            let (all, _) = crosses.get();
            (!all.is_empty()).then(|| view! {
                <div class="fields traced-crosses">
                    {all.into_iter().enumerate().map(|(k, at)| line(k, at)).collect_view()}
                </div>
                <button type="button" class="key" id="crosses-keep"
                    disabled=move || told().0.len() < 2 on:click=keep>
                    "Place it by these marks"
                </button>
                <p class="second">"Two marks place it, a third checks. A tape’s readings of the same distances stay"</p>
            })
        }}
    }
}
