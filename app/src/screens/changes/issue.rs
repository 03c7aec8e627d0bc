//! One issue: what it changes, what it means piece by piece, its papers, who approved it.

use super::piece_by_piece::{self, Alike};
use super::{from_job, model, of_job, say};
use crate::ports::{clock, fields};
use crate::screens::job::model::edit;
use crate::screens::templates::fewest::download;
use crate::state::{Session, session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{EntityRef, FeatureId, IssueEdit, IssueId, JobEdit, SheetOf};
use samespot_core::prepare::amendments::{AmendmentPaper, AmendmentView, Becomes, means};

/// What is known of the issue.
#[derive(Debug, Clone, PartialEq)]
enum Looked {
    Nothing,
    Looking,
    View(Box<AmendmentView>),
    Cannot(String),
}

/// The open issue.
#[component]
pub(super) fn Opened(open: Memo<Option<IssueId>>) -> impl IntoView {
    let session = session();
    let looked = RwSignal::new(Looked::Nothing);
    let asked = StoredValue::new(0_u32);
    Effect::new(move |_| {
        let (issue, book) = (open.get(), session.book.get());
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        let (Some(issue), Some(book)) = (issue, book) else {
            looked.set(Looked::Nothing);
            return;
        };
        let other = looked.with_untracked(|l| match l {
            Looked::View(v) => v.issue != issue,
            _ => true,
        });
        if other {
            looked.set(Looked::Looking);
        }
        spawn_local(async move {
            let ask = Ask::Amendment {
                job: book.id().clone(),
                issue,
            };
            let came = match Session::ask(book, ask).await {
                Ok((Reply::Amendment(view), _)) => Looked::View(view),
                Ok(_) => return,
                Err(sentence) => Looked::Cannot(sentence),
            };
            if asked.try_get_value() == Some(number) {
                let _ = looked.try_set(came);
                if other {
                    fields::show(".changes-opened");
                }
            }
        });
    });
    view! {
        <section class="sheet job-castings changes-opened" aria-live="polite">
            {move || match looked.get() {
                Looked::Nothing => view! {
                    <h2>"No issue is open"</h2>
                    <p>"Choose one, or change the design: what to scrap, what to print again and which pieces to make again is then shown here"</p>
                }.into_any(),
                Looked::Looking => view! { <p role="status">"Looking the run over…"</p> }.into_any(),
                Looked::Cannot(why) => view! { <p class="job-why">{why}</p> }.into_any(),
                Looked::View(v) => view! { <Shown view=*v /> }.into_any(),
            }}
        </section>
    }
}

#[component]
fn Shown(view: AmendmentView) -> impl IntoView {
    let issue = StoredValue::new(view.issue.clone());
    let number = view.number;
    let removable = !view.approved && view.changes.len() > 1;
    let changes: Vec<_> = view
        .changes
        .iter()
        .enumerate()
        .map(|(n, words)| {
            view! {
                <li class="changes-change">
                    <strong>{words.clone()}</strong>
                    {removable.then(|| view! {
                        <button type="button" class="key" on:click=move |_| {
                            if let Some(facts) = from_job(|j| model::without(j, &issue.get_value(), n)) { say(&facts); }
                        }>"Take it out"</button>
                    })}
                </li>
            }
        })
        .collect();
    let approved = view.approved;
    let pairs = view.pairs.clone().into_iter().map(|pair| {
        let offer = pair.also.zip(pair.offer).filter(|_| !approved);
        view! {
            <div class="changes-pair" role="status">
                <p><strong>{pair.says}</strong></p>
                {offer.map(|(also, words)| view! {
                    <button type="button" class="key" on:click=move |_| {
                        if let Some(facts) = from_job(|j| model::also(j, &issue.get_value(), &also)) { say(&facts); }
                    }>{words}</button>
                })}
            </div>
        }
    }).collect_view();
    let said = of_job(|j| means(j, &view)).unwrap_or_default();
    let scrap = view
        .scrap
        .iter()
        .map(|s| view! { <li>{model::scrap(s)}</li> })
        .collect_view();
    let mut features: Vec<(FeatureId, String)> = Vec::new();
    for c in view
        .consequences
        .iter()
        .filter(|c| c.becomes != Becomes::Dropped)
    {
        if !features.iter().any(|(id, _)| *id == c.feature) {
            features.push((c.feature.clone(), c.title.clone()));
        }
    }
    let about = of_job(|j| {
        let i = j.issues.get(&view.issue)?;
        let parts = [
            i.asked_by.clone().map(|by| format!("asked for by {by}")),
            i.reason.clone(),
            i.date.clone(),
        ];
        Some(parts.into_iter().flatten().collect::<Vec<_>>().join(" · "))
    })
    .flatten()
    .unwrap_or_default();
    view! {
        <h2>{format!("Issue {number}: {}", view.pieces)}</h2>
        <p class="second">{about}</p>
        <ul class="job-list">{changes}</ul>
        {(!view.in_all.is_empty()).then(|| view! {
            <ul class="changes-in-all">{view.in_all.iter().map(|t| view! { <li>{t.clone()}</li> }).collect_view()}</ul>
        })}
        {pairs}
        <div class="changes-means">
            <p>{said}</p>
            {(!scrap.is_empty()).then(|| view! { <ul>{scrap}</ul> })}
        </div>
        <Approval issue=issue approved=view.approved />
        <Papers issue=issue />
        <Rate issue=issue />
        <h3>"Piece by piece"</h3>
        <Together features=features />
        <ul class="job-list">
            {piece_by_piece::alike(view.consequences).into_iter().map(|alike| view! { <Alike issue=issue alike=alike /> }).collect_view()}
        </ul>
    }
}

#[component]
fn Approval(issue: StoredValue<IssueId>, approved: bool) -> impl IntoView {
    let by = RwSignal::new(String::new());
    let said = move || {
        of_job(|j| {
            let i = j.issues.get(&issue.get_value())?;
            Some(format!(
                "Approved by {}, {}",
                i.approved_by.clone()?,
                i.approved_on.clone().unwrap_or_default()
            ))
        })
        .flatten()
        .unwrap_or_default()
    };
    let approve = move |_| {
        say(&model::approve(
            &issue.get_value(),
            &by.get_untracked(),
            &clock::day(),
        ));
    };
    if approved {
        return view! { <p><strong>{said}</strong></p> }.into_any();
    }
    view! {
        <div class="changes-approve">
            <p><strong>"NOT APPROVED: "</strong>"every sheet of this issue says so until somebody has"</p>
            <div class="job-row">
                <label class="job-field">
                    <span>"Approved by (name and role)"</span>
                    <input id="change-approved" type="text" autocomplete="off" prop:value=move || by.get() on:input=move |ev| by.set(event_target_value(&ev)) />
                </label>
                <button type="button" class="key" on:click=approve aria-disabled=move || if by.get().trim().is_empty() { "true" } else { "false" }>
                    {move || if by.get().trim().is_empty() { "Say who approved it" } else { "Approved" }}
                </button>
            </div>
        </div>
    }
    .into_any()
}

#[component]
fn Papers(issue: StoredValue<IssueId>) -> impl IntoView {
    let session = session();
    let busy = RwSignal::new(false);
    let save = move |which: AmendmentPaper| {
        move |_| {
            let Some(book) = session.book.get_untracked() else {
                return;
            };
            let ask = Ask::AmendmentPaper {
                job: book.id().clone(),
                issue: issue.get_value(),
                which,
                paper: book.job.about.paper.unwrap_or_default(),
                day: clock::day(),
            };
            spawn_local(session.download(book, ask, busy));
        }
    };
    view! {
        <div class="job-row">
            <button type="button" class="key main" on:click=save(AmendmentPaper::Approval)>
                {move || if busy.get() { "Making…" } else { "Page for the client (PDF)" }}
            </button>
            <button type="button" class="key" on:click=save(AmendmentPaper::Slip)>"Slip for the workshop (PDF)"</button>
        </div>
    }
}

/// The fewest new templates of each feature, for the whole run in one file.
#[component]
fn Together(features: Vec<(FeatureId, String)>) -> impl IntoView {
    let session = session();
    let making = RwSignal::new(false);
    let several = session
        .book
        .with_untracked(|b| b.as_ref().is_some_and(|b| b.job.pieces.len() > 1));
    let keys = features
        .into_iter()
        .map(|(feature, title)| {
            let save = move |_| {
                let Some(book) = session.book.get_untracked() else {
                    return;
                };
                if !making.get_untracked() {
                    making.set(true);
                    let paper = book.job.about.paper.unwrap_or_default();
                    let of = SheetOf::Feature(feature.clone());
                    spawn_local(download(session, book, of, paper, making));
                }
            };
            view! {
                <button type="button" class="key" on:click=save>
                    {move || if making.get() { "Making…".to_owned() } else { format!("The fewest templates of {title}, all pieces (PDF)") }}
                </button>
            }
        })
        .collect_view();
    several.then(|| view! { <div class="job-row">{keys}</div> })
}

#[component]
fn Rate(issue: StoredValue<IssueId>) -> impl IntoView {
    let shown = |n: Option<f64>| n.map(|n| format!("{n}")).unwrap_or_default();
    let hours = move || shown(of_job(|j| j.issues.get(&issue.get_value())?.hours_each).flatten());
    let rate = move || shown(of_job(|j| j.about.hour_rate).flatten());
    let money = move || {
        of_job(|j| j.about.money.clone())
            .flatten()
            .unwrap_or_default()
    };
    let keep_hours = move |ev| {
        let fields = IssueEdit {
            hours_each: model::number(&event_target_value(&ev)),
            ..IssueEdit::default()
        };
        say(&edit(EntityRef::Issue(issue.get_value()), &fields));
    };
    let keep_job = move |fields: JobEdit| say(&edit(EntityRef::Job, &fields));
    view! {
        <details class="job-more">
            <summary>"Hours and money"</summary>
            <div class="job-row">
                <label class="job-field short">
                    <span>"Hours to make one again"</span>
                    <input id="change-hours" inputmode="decimal" prop:value=hours on:change=keep_hours />
                </label>
                <label class="job-field short">
                    <span>"An hour costs"</span>
                    <input id="change-rate" inputmode="decimal" prop:value=rate
                        on:change=move |ev| keep_job(JobEdit { hour_rate: model::number(&event_target_value(&ev)), ..JobEdit::default() }) />
                </label>
                <label class="job-field short">
                    <span>"in"</span>
                    <input id="change-money" type="text" placeholder="€" prop:value=money
                        on:change=move |ev| keep_job(JobEdit { money: Some(event_target_value(&ev).trim().to_owned()), ..JobEdit::default() }) />
                </label>
            </div>
        </details>
    }
}
