//! Castings by part: where each is, what may be done next, and why not yet.

use super::by_number::ByNumber;
use super::in_hand::{InHand, next_stage};
use super::{Run, from_job, model, notice, of_job, say};
use crate::ports::{clock, ids};
use leptos::prelude::*;
use samespot_core::job::{
    CastingEdit, CastingId, DoneFact, DoneKind, EntityRef, MarkId, PartId, Payload, PieceId,
    StageFact,
};
use samespot_core::run::{CastingView, Step, mark_name, piece_name, step_to, why_not};

/// All castings.
#[component]
pub(super) fn Castings(run: Run, piece: Memo<Option<PieceId>>) -> impl IntoView {
    let parts = Memo::new(move |_| {
        of_job(|j| {
            let mut parts: Vec<(PartId, String)> = j
                .parts
                .iter()
                .map(|(id, p)| (id.clone(), p.name.clone().unwrap_or_else(|| id.to_string())))
                .collect();
            parts.sort_by(|a, b| a.1.cmp(&b.1));
            parts
        })
        .unwrap_or_default()
    });
    view! {
        <section class="sheet job-castings" aria-labelledby="job-castings">
            <h1 id="job-castings">"Castings"</h1>
            <InHand run=run piece=piece />
            <ByNumber />
            <Show when=move || parts.with(Vec::is_empty)>
                <p class="second">
                    "No part yet: say under Moulds what is cast, as base or figure. Its castings are entered here as they are pulled"
                </p>
            </Show>
            <For each=move || parts.get() key=|p| p.clone() let(part)>
                <Part run=run part=part.0 name=part.1 piece=piece />
            </For>
        </section>
    }
}

#[component]
fn Part(run: Run, part: PartId, name: String, piece: Memo<Option<PieceId>>) -> impl IntoView {
    let count = RwSignal::new(1_u32);
    let own = {
        let part = part.clone();
        Memo::new(move |_| {
            run.view.with(|r| {
                r.castings
                    .iter()
                    .filter(|c| c.part.as_ref() == Some(&part))
                    .map(|c| c.casting.clone())
                    .collect::<Vec<_>>()
            })
        })
    };
    let proposed = {
        let part = part.clone();
        Memo::new(move |_| {
            of_job(|j| {
                let mould = j.parts.get(&part).and_then(|p| p.mould.as_ref());
                (
                    model::next_number(j, &part),
                    samespot_core::run::next_pull(j, &part, mould),
                )
            })
            .unwrap_or((1, 1))
        })
    };
    let add = {
        let part = part.clone();
        move |_| {
            let n = count.get_untracked();
            let all = from_job(|j| model::add_castings(j, &part, n, &mut ids::thing));
            say(all.unwrap_or_default());
        }
    };
    let words = {
        let name = name.clone();
        move || {
            let (number, n) = (proposed.get().0, count.get());
            if n == 1 {
                format!("Add {name} {number}")
            } else {
                format!("Add {name} {number} to {}", number + n - 1)
            }
        }
    };
    let pulls = move || {
        let (pull, n) = (proposed.get().1, count.get());
        if n == 1 {
            format!("pull {pull}")
        } else {
            format!("pulls {pull} to {}", pull + n - 1)
        }
    };
    let step = move |by: i64| {
        count.update(|n| {
            let next = i64::from(*n) + by;
            *n = u32::try_from(next.clamp(1, i64::from(model::MOST_AT_ONCE))).unwrap_or(1);
        });
    };
    view! {
        <h2>{name}</h2>
        <ul class="job-list">
            <For each=move || own.get() key=Clone::clone let(casting)>
                <Casting run=run casting=casting piece=piece />
            </For>
        </ul>
        <div class="job-row job-add">
            <button type="button" class="key step-key" aria-label="One casting fewer" on:click=move |_| step(-1)>"−"</button>
            <span class="figure count" role="status" aria-label="Castings to add">{move || count.get()}</span>
            <button type="button" class="key step-key" aria-label="One casting more" on:click=move |_| step(1)>"+"</button>
            <button type="button" class="key main" on:click=add>{words}</button>
            <span class="second">{pulls}</span>
        </div>
    }
}

#[component]
fn Casting(run: Run, casting: CastingId, piece: Memo<Option<PieceId>>) -> impl IntoView {
    let id = StoredValue::new(casting);
    let view = Memo::new(move |_| {
        run.view
            .with(|r| id.with_value(|id| r.castings.iter().find(|c| c.casting == *id).cloned()))
    });
    let of = move |read: fn(&CastingView) -> String| {
        move || view.with(|v| v.as_ref().map(read).unwrap_or_default())
    };
    let where_it_is = move || {
        view.with(|v| {
            let Some(v) = v else { return String::new() };
            let mut said = Vec::new();
            if let Some(stage) = &v.stage {
                said.push(stage.clone());
            } else if !v.pattern {
                // What is read is there: only nobody said how far it is.
                let is_there = v.faces_measured > 0;
                said.push(
                    if is_there {
                        "no stage said yet"
                    } else {
                        "not pulled yet"
                    }
                    .into(),
                );
            }
            if let Some(pull) = v.pull {
                said.push(format!("pull {pull}"));
            }
            if let Some(piece) = &v.piece {
                said.extend(of_job(|j| piece_name(j, piece)));
            } else if !v.pattern {
                said.push("in no piece".into());
            }
            if v.faces > 0 {
                said.push(format!(
                    "faces measured {} of {}",
                    v.faces_measured, v.faces
                ));
            }
            said.join(" · ")
        })
    };
    let held = move || view.with(|v| v.as_ref().is_some_and(|v| !v.waits.is_empty()));
    let next = move || view.with(|v| v.as_ref().and_then(|v| v.next.clone()));
    let here = move || {
        piece
            .get()
            .is_some_and(|p| view.with(|v| v.as_ref().and_then(|v| v.piece.clone()) == Some(p)))
    };
    let advance = move |_| {
        if held() {
            return;
        }
        if let Some(stage) = next() {
            say(vec![next_stage(id.get_value(), stage)]);
        }
    };
    let lines = move |class: &'static str, read: fn(&CastingView) -> Vec<String>| {
        move || {
            view.with(|v| v.as_ref().map(read).unwrap_or_default())
                .into_iter()
                .map(|line| view! { <li class=class>{crate::say::job::capital(&line)}</li> })
                .collect_view()
        }
    };
    let ticks = move || {
        view.with(|v| v.as_ref().map(|v| v.ticks.clone()).unwrap_or_default())
            .into_iter()
            .filter(|(_, done)| !done)
            .map(|(what, _)| {
                let said = what.clone();
                view! {
                    <button type="button" class="key" on:click=move |_| {
                        say(vec![Payload::Done(DoneFact {
                            casting: id.get_value(),
                            what: said.clone(),
                            on: None,
                            kind: Some(DoneKind::Ticked),
                            near: Vec::new(),
                        })]);
                    }>{format!("Done: {what}")}</button>
                }
            })
            .collect_view()
    };
    // A casting in no piece goes into the first piece that has none of its part, with one tap.
    let into = move || {
        if view.with(|v| v.as_ref().is_none_or(|v| v.pattern || v.piece.is_some())) {
            return None;
        }
        let pieces: Vec<PieceId> = run
            .view
            .with(|r| r.pieces.iter().map(|p| p.piece.clone()).collect());
        let free = of_job(|j| {
            id.with_value(|id| model::first_free(j, id, &pieces))
                .map(|p| (piece_name(j, &p), p))
        });
        let (name, piece) = free.flatten()?;
        Some(view! {
            <button type="button" class="key" on:click=move |_| {
                let all = from_job(|j| id.with_value(|id| model::marry(j, id, Some(&piece))));
                say(all.unwrap_or_default());
            }>{format!("It is for {name}")}</button>
        })
    };
    view! {
        <li class="job-casting" class:here=here>
            <div class="job-line">
                <span class="figure label">{of(|v| v.label.clone())}</span>
                <span class="words">
                    <strong>{of(|v| crate::say::job::capital(&v.name))}</strong>
                    <span class="second">{where_it_is}</span>
                </span>
                {move || next().map(|stage| view! {
                    <button type="button" class="key" on:click=advance
                        aria-disabled=move || if held() { "true" } else { "false" }>
                        {crate::say::job::capital(&stage)}
                    </button>
                })}
            </div>
            <ul class="job-says">
                {lines("wait", |v| v.waits.clone())}
                {lines("wait conflict", |v| v.conflicts.clone())}
                {lines("again", |v| v.again.clone())}
                {lines("second", |v| v.vanishing.iter().map(|m| format!("Covered by the next stage: {m}")).collect())}
                {lines("second", |v| v.history.clone())}
            </ul>
            <div class="job-row">{ticks}{into}</div>
            <More id=id view=view run=run />
        </li>
    }
}

/// Number, pull, piece, stage out of turn, and work done on it.
#[component]
fn More(id: StoredValue<CastingId>, view: Memo<Option<CastingView>>, run: Run) -> impl IntoView {
    let pattern = move || view.with(|v| v.as_ref().is_some_and(|v| v.pattern));
    let field = move |read: fn(&CastingEdit) -> Option<String>| {
        move || {
            of_job(|j| id.with_value(|id| j.castings.get(id).and_then(read)))
                .flatten()
                .unwrap_or_default()
        }
    };
    let set = move |fields: CastingEdit| {
        say(model::edit(EntityRef::Casting(id.get_value()), &fields));
    };
    view! {
        <details class="job-more">
            <summary>"Number, piece, stage, work done"</summary>
            <div class="job-row">
                <label class="job-field short"><span>"Number"</span>
                    <input type="text" prop:value=field(|c| c.number.clone())
                        on:change=move |ev| set(CastingEdit { number: Some(event_target_value(&ev).trim().to_owned()), ..CastingEdit::default() }) />
                </label>
                <label class="job-field short"><span>"Pull"</span>
                    <input type="text" inputmode="numeric" prop:value=field(|c| c.pull.map(|p| p.to_string()))
                        on:change=move |ev| {
                            let text = event_target_value(&ev);
                            match text.trim().parse::<u32>() {
                                Ok(pull) => set(CastingEdit { pull: Some(pull), ..CastingEdit::default() }),
                                Err(_) => notice(format!("“{}” is no pull number: a whole number, as 12", text.trim())),
                            }
                        } />
                </label>
                <label class="job-field"><span>"Number stands on (a hidden face)"</span>
                    <input type="text" prop:value=field(|c| c.numbered_on.clone())
                        on:change=move |ev| set(CastingEdit { numbered_on: Some(event_target_value(&ev).trim().to_owned()), ..CastingEdit::default() }) />
                </label>
                <label class="job-field short"><span>"Laid up"</span>
                    <input type="date" prop:value=field(|c| c.laid_up.clone())
                        on:change=move |ev| set(CastingEdit { laid_up: Some(event_target_value(&ev)), ..CastingEdit::default() }) />
                </label>
                <label class="job-field short"><span>"Demoulded"</span>
                    <input type="date" prop:value=field(|c| c.demoulded.clone())
                        on:change=move |ev| set(CastingEdit { demoulded: Some(event_target_value(&ev)), ..CastingEdit::default() }) />
                </label>
            </div>
            <Show when=move || !pattern()>
                <Marry id=id view=view run=run />
                <OutOfTurn id=id run=run />
            </Show>
            <Work id=id />
        </details>
    }
}

#[component]
fn Marry(id: StoredValue<CastingId>, view: Memo<Option<CastingView>>, run: Run) -> impl IntoView {
    let chosen = RwSignal::new(None::<Option<PieceId>>);
    let now = move || view.with(|v| v.as_ref().and_then(|v| v.piece.clone()));
    let wanted = move || chosen.get().unwrap_or_else(now);
    let means = move || {
        let wanted = wanted();
        of_job(|j| id.with_value(|id| model::marry_means(j, id, wanted.as_ref())))
            .flatten()
            .unwrap_or_default()
    };
    let words = move || match wanted() {
        Some(piece) => format!(
            "Put into {}",
            of_job(|j| piece_name(j, &piece)).unwrap_or_default()
        ),
        None => "Take out of its piece".into(),
    };
    let changed = move || wanted() != now();
    let put = move |_| {
        let wanted = wanted();
        let all = from_job(|j| id.with_value(|id| model::marry(j, id, wanted.as_ref())));
        say(all.unwrap_or_default());
        chosen.set(None);
    };
    let options = move || {
        run.view.with(|r| {
            r.pieces
                .iter()
                .map(|p| {
                    let id = p.piece.to_string();
                    let is = now().as_ref() == Some(&p.piece);
                    view! { <option value=id selected=is>{crate::say::job::capital(&p.name)}</option> }
                })
                .collect_view()
        })
    };
    view! {
        <div class="job-row">
            <label class="job-field"><span>"Piece"</span>
                <select data-what="piece" on:change=move |ev| chosen.set(Some(PieceId::new(&event_target_value(&ev)).ok()))>
                    <option value="" selected=move || now().is_none()>"in no piece"</option>
                    {options}
                </select>
            </label>
            <Show when=changed>
                <button type="button" class="key" on:click=put>{words}</button>
            </Show>
            <span class="job-why" role="status">{means}</span>
        </div>
    }
}

#[component]
fn OutOfTurn(id: StoredValue<CastingId>, run: Run) -> impl IntoView {
    let chosen = RwSignal::new(String::new());
    let reason = RwSignal::new(String::new());
    let step = move || {
        let to = chosen.get();
        of_job(|j| id.with_value(|id| step_to(j, id, &to)))
    };
    let why = move || {
        let to = chosen.get();
        if to.is_empty() {
            return Vec::new();
        }
        let step = step();
        let mut why = match &step {
            Some(Step::Stays) => vec!["It is there already".to_owned()],
            Some(Step::Skips(left)) if reason.get().trim().is_empty() => {
                vec![format!("This skips {}: say why", left.join(", "))]
            }
            Some(Step::Back) if reason.get().trim().is_empty() => {
                vec!["This goes back: say why".to_owned()]
            }
            _ => Vec::new(),
        };
        if step != Some(Step::Back) {
            why.extend(of_job(|j| id.with_value(|id| why_not(j, id, &to))).unwrap_or_default());
        }
        why
    };
    let set = move |_| {
        let to = chosen.get_untracked();
        if to.is_empty() || !why().is_empty() {
            return;
        }
        let said = reason.get_untracked().trim().to_owned();
        say(vec![Payload::Stage(StageFact {
            casting: id.get_value(),
            stage: to,
            day: clock::day(),
            reason: (!said.is_empty()).then_some(said),
        })]);
        chosen.set(String::new());
        reason.set(String::new());
    };
    let options = move || {
        run.view.with(|r| {
            r.stages
                .iter()
                .map(|s| view! { <option value=s.clone()>{s.clone()}</option> })
                .collect_view()
        })
    };
    view! {
        <div class="job-row">
            <label class="job-field"><span>"Another stage"</span>
                <select data-what="stage" prop:value=move || chosen.get() on:change=move |ev| chosen.set(event_target_value(&ev))>
                    <option value="">"as it is"</option>
                    {options}
                </select>
            </label>
            <Show when=move || !chosen.get().is_empty()>
                <label class="job-field"><span>"Why, where it skips or goes back"</span>
                    <input type="text" prop:value=move || reason.get() on:input=move |ev| reason.set(event_target_value(&ev)) />
                </label>
                <button type="button" class="key" on:click=set
                    aria-disabled=move || if why().is_empty() { "false" } else { "true" }>
                    {move || format!("Set to {}", chosen.get())}
                </button>
                <span class="job-why" role="status">{move || why().join(". ")}</span>
            </Show>
        </div>
    }
}

/// Filled, cut, sanded: near which marks.
#[component]
fn Work(id: StoredValue<CastingId>) -> impl IntoView {
    let near = RwSignal::new(Vec::<MarkId>::new());
    let note = RwSignal::new(String::new());
    let marks = Memo::new(move |_| {
        of_job(|j| {
            let part = id.with_value(|id| j.castings.get(id).and_then(|c| c.part.clone()));
            let mut marks: Vec<(MarkId, String)> = j
                .marks
                .iter()
                .filter(|(_, m)| {
                    let on = m.face.as_ref().and_then(|f| j.faces.get(f));
                    part.is_some() && on.and_then(|f| f.part.clone()) == part
                })
                .map(|(m, _)| (m.clone(), mark_name(j, m)))
                .collect();
            marks.sort_by(|a, b| a.1.cmp(&b.1));
            marks
        })
        .unwrap_or_default()
    });
    let key = move |mark: MarkId, letter: String| {
        let (is, flip) = (mark.clone(), mark);
        view! {
            <button type="button" class="choice"
                aria-pressed=move || if near.with(|n| n.contains(&is)) { "true" } else { "false" }
                on:click=move |_| near.update(|n| {
                    if n.contains(&flip) { n.retain(|m| *m != flip) } else { n.push(flip.clone()) }
                })>
                {letter}
            </button>
        }
    };
    let log = move |kind: DoneKind, words: &'static str| {
        move |_| {
            if near.with_untracked(Vec::is_empty) {
                notice("Say near which marks it was: tap their letters first");
                return;
            }
            let said = note.get_untracked().trim().to_owned();
            say(vec![Payload::Done(DoneFact {
                casting: id.get_value(),
                what: if said.is_empty() {
                    words.to_owned()
                } else {
                    said
                },
                on: None,
                kind: Some(kind),
                near: near.get_untracked(),
            })]);
            near.set(Vec::new());
            note.set(String::new());
        }
    };
    view! {
        <Show when=move || marks.with(|m| !m.is_empty())>
            <div class="job-row">
                <div class="choices" role="group" aria-label="Near which marks">
                    <p class="legend" aria-hidden="true">"Work near these marks"</p>
                    <div class="keys">
                        <For each=move || marks.get() key=|m| m.clone() let(mark)>{key(mark.0, mark.1)}</For>
                    </div>
                </div>
                <label class="job-field"><span>"What and where"</span>
                    <input type="text" prop:value=move || note.get() on:input=move |ev| note.set(event_target_value(&ev)) />
                </label>
                <button type="button" class="key" on:click=log(DoneKind::Filled, "filled")>"Filled here"</button>
                <button type="button" class="key" on:click=log(DoneKind::Cut, "cut")>"Cut here"</button>
                <button type="button" class="key" on:click=log(DoneKind::Sanded, "sanded")>"Sanded here"</button>
            </div>
        </Show>
    }
}
