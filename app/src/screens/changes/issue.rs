//! One issue: what it changes, what it means piece by piece, its papers, who approved it.

use super::{from_job, model, of_job, say};
use crate::ports::{clock, fields};
use crate::route::Route;
use crate::screens::job::model::edit;
use crate::state::{Session, session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{Decided, EntityRef, IssueEdit, IssueId, JobEdit};
use samespot_core::prepare::amendments::{
    AmendmentPaper, AmendmentView, Becomes, Consequence, Outcome, means, to_do,
};

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
        <p class="changes-means">{said}</p>
        <Approval issue=issue approved=view.approved />
        <Papers issue=issue />
        <Rate issue=issue />
        <h3>"Piece by piece"</h3>
        <ul class="job-list">
            {view.consequences.into_iter().map(|c| view! { <Row issue=issue consequence=c /> }).collect_view()}
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

#[component]
fn Row(issue: StoredValue<IssueId>, consequence: Consequence) -> impl IntoView {
    let session = session();
    let c = StoredValue::new(consequence.clone());
    let job = session
        .book
        .with_untracked(|b| b.as_ref().map(|b| b.id().clone()));
    let to_print = matches!(
        consequence.outcome,
        Outcome::NotMade | Outcome::PrintAgain { .. }
    ) && consequence.cannot.is_none();
    let becomes = consequence.becomes;
    let done = match becomes {
        Becomes::Other => "It was made again",
        Becomes::Dropped => "It was taken off",
        Becomes::Added => "It was put on",
    };
    let rework = matches!(consequence.outcome, Outcome::Rework { .. });
    let decide = move |decided: Decided| {
        let c = c.get_value();
        say(&model::decide(
            &issue.get_value(),
            &c.piece,
            &c.feature,
            decided,
        ));
    };
    let asking = RwSignal::new(false);
    let (by, why) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let link = job
        .filter(|_| (to_print || rework) && becomes != Becomes::Dropped)
        .map(|job| {
            let route = Route::Templates {
                job,
                piece: Some(consequence.piece.clone()),
                feature: Some(consequence.feature.clone()),
            };
            view! { <a class="key" href=route.address()>"Its new template"</a> }
        });
    let stage = consequence.stage.clone().unwrap_or_default();
    let todo = crate::say::job::capital(&to_do(&consequence));
    view! {
        <li class="changes-row" class:acts=rework>
            <span class="label">{consequence.number}</span>
            <span class="words">
                <strong>{todo}</strong>
                <span class="second">
                    {[consequence.title.clone(), stage].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(" · ")}
                </span>
                {consequence.cannot.clone().map(|why| view! { <span class="job-why">{why}</span> })}
            </span>
            {link}
            {rework.then(|| view! {
                <button type="button" class="key" on:click=move |_| decide(Decided::Reworked)>{done}</button>
                <button type="button" class="key" on:click=move |_| asking.update(|a| *a = !*a)>"Leave it as it is…"</button>
            })}
            <Show when=move || asking.get()>
                <div class="job-row changes-concession">
                    <label class="job-field"><span>"Who allows it (name and role)"</span>
                        <input type="text" autocomplete="off" prop:value=move || by.get() on:input=move |ev| by.set(event_target_value(&ev)) />
                    </label>
                    <label class="job-field"><span>"Why"</span>
                        <input type="text" autocomplete="off" prop:value=move || why.get() on:input=move |ev| why.set(event_target_value(&ev)) />
                    </label>
                    <button type="button" class="key"
                        aria-disabled=move || if by.get().trim().is_empty() || why.get().trim().is_empty() { "true" } else { "false" }
                        on:click=move |_| {
                            let (by, reason) = (by.get_untracked().trim().to_owned(), why.get_untracked().trim().to_owned());
                            if !by.is_empty() && !reason.is_empty() {
                                decide(Decided::Concession { by, reason });
                            }
                        }
                    >
                        {move || if by.get().trim().is_empty() || why.get().trim().is_empty() { "A name and a reason, please" } else { "It stays as it is" }}
                    </button>
                </div>
            </Show>
        </li>
    }
}
