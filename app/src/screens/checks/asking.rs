//! A check while it is being typed: the question that goes with what stands in the fields, the
//! verdict that answers it, and keeping it. Both ways of checking go through here.

use super::latest::Latest;
use super::{Hand, model};
use crate::route::Route;
use crate::say::job::capital;
use crate::say::numbers::{size, tenth};
use crate::state::{Session, session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::check::Verdict;
use samespot_core::job::{FeatureId, Found, Job, Payload, PieceId};
use samespot_core::prepare::checks::{Judgement, Standing, verdict_words};

/// What was asked last, and what was answered.
#[derive(Clone, Copy)]
pub(super) struct Asking {
    judged: RwSignal<Option<Judgement>>,
    refused: RwSignal<Option<String>>,
    asked: StoredValue<u32>,
    // Which of the questions the verdict on show answers: an older one is not kept with newer
    // readings.
    answered: StoredValue<u32>,
}

impl Asking {
    /// Asks whenever what is typed changes; `None` while it does not make a question yet.
    pub(super) fn follow(
        hand: Hand,
        question: impl Fn(&PieceId, &samespot_core::job::JobId) -> Option<Ask> + 'static,
    ) -> Self {
        let asking = Self {
            judged: RwSignal::new(None),
            refused: RwSignal::new(None),
            asked: StoredValue::new(0),
            answered: StoredValue::new(0),
        };
        Effect::new(move |_| {
            let (piece, book) = (hand.piece.get(), hand.session.book.get_untracked());
            asking.asked.update_value(|n| *n += 1);
            asking.refused.set(None);
            let number = asking.asked.get_value();
            let question = piece
                .zip(book.as_ref())
                .and_then(|(piece, book)| question(&piece, book.id()));
            let (Some(ask), Some(book)) = (question, book) else {
                asking.judged.set(None);
                return;
            };
            spawn_local(async move {
                let (came, why) = match Session::ask(book, ask).await {
                    Ok((Reply::Judged(j), _)) => (Some(*j), None),
                    Ok(_) => (None, None),
                    Err(sentence) => (None, Some(sentence)),
                };
                if asking.asked.try_get_value() == Some(number) {
                    let _ = asking.answered.try_set_value(number);
                    let _ = asking.judged.try_set(came);
                    let _ = asking.refused.try_set(why);
                }
            });
        });
        asking
    }

    /// The verdict on show.
    pub(super) fn judged(self) -> Option<Judgement> {
        self.judged.get()
    }

    fn ready(self) -> bool {
        self.judged.with(Option::is_some)
    }

    /// Keeps what was found, if it answers what stands in the fields now.
    pub(super) fn keep(
        self,
        hand: Hand,
        facts: impl FnOnce(&Job, &PieceId, Found) -> Option<Vec<Payload>>,
    ) -> bool {
        if self.answered.get_value() != self.asked.get_value() {
            return false;
        }
        let (Some(j), Some(piece)) = (self.judged.get_untracked(), hand.piece.get_untracked())
        else {
            return false;
        };
        let book = hand.session.book.get_untracked();
        let Some(facts) = book.and_then(|b| facts(&b.job, &piece, j.found)) else {
            return false;
        };
        hand.session.say(&facts);
        true
    }
}

/// The verdict, keeping it, and what was kept before.
#[component]
pub(super) fn Said(
    hand: Hand,
    feature: StoredValue<FeatureId>,
    asking: Asking,
    /// What stands there before anything is typed.
    #[prop(into)]
    before: Signal<&'static str>,
    /// What the key says until there is a verdict.
    #[prop(into)]
    wants: Signal<&'static str>,
    /// Keeps it.
    #[prop(into)]
    keep: Callback<()>,
) -> impl IntoView {
    view! {
        <div class="checks-verdict" role="status">
            <OfOlder hand=hand />
            {move || match (asking.judged.get(), asking.refused.get()) {
                (Some(judgement), _) => view! { <Judged judgement=judgement as_it_was=hand.check().is_some_and(|c| c.older.is_some()) /> }.into_any(),
                (None, Some(why)) => view! { <p class="checks-cannot">{why}</p> }.into_any(),
                (None, None) => {
                    // What was kept stays as large as it was found, until the next is read.
                    let kept = hand.check().and_then(|c| {
                        let again = c.older.map(|_| (Standing::MakeAgain.word(), true));
                        let found = c.latest.map(|l| l.found.verdict);
                        again.or(found.map(|v| (verdict_words(v), v == Verdict::Outside)))
                    });
                    view! {
                        {kept.map(|(word, outside)| view! {
                            <p class="checks-word" class:outside=outside>{capital(word)}</p>
                        })}
                        <p class="second">{move || before.get()}</p>
                    }.into_any()
                }
            }}
            <button type="button" id=KEEP class="key main big" on:click=move |_| { let _ = keep.try_run(()); }
                aria-disabled=move || if asking.ready() { "false" } else { "true" }>
                {move || if asking.ready() { "Keep this check" } else { wants.get() }}
            </button>
            <Latest hand=hand feature=feature />
            <Beforehand hand=hand />
        </div>
    }
}

/// The key that keeps what was found: Enter in the last field goes there.
pub(super) const KEEP: &str = "check-keep";

/// That it is on the piece as an older issue has it, and the way to where that is decided.
#[component]
fn OfOlder(hand: Hand) -> impl IntoView {
    let says = Memo::new(move |_| hand.check().and_then(|c| c.older).map(|o| o.sentence()));
    let changes = move || {
        let job = hand.session.route.with(|r| r.job().cloned());
        job.map(|job| Route::Changes { job, issue: None }.address())
    };
    move || {
        says.get().map(|says| {
            view! {
                <div class="checks-older">
                    <p class="checks-cannot">{says}</p>
                    <a class="key" href=changes()>"To the changes"</a>
                </div>
            }
        })
    }
}

/// What to know before it is checked.
#[component]
pub(super) fn Beforehand(hand: Hand) -> impl IntoView {
    let all = Memo::new(move |_| hand.check().map(|c| c.before).unwrap_or_default());
    view! {
        <Show when=move || all.with(|a| !a.is_empty())>
            <ul class="checks-before second">
                {move || all.get().into_iter().map(|b| view! { <li>{b}</li> }).collect_view()}
            </ul>
        </Show>
    }
}

#[component]
fn Judged(
    judgement: Judgement,
    /// By the issue it was made to, which is no longer the one it is to be made to.
    as_it_was: bool,
) -> impl IntoView {
    let f = judgement.found;
    let mut word = verdict_words(f.verdict).to_owned();
    if as_it_was {
        word.push_str(" as it was");
    }
    view! {
        <p class="checks-word" class:outside=f.verdict == Verdict::Outside>{capital(&word)}</p>
        <p class="checks-found">{judgement.says}</p>
        {judgement.size_says.map(|s| view! { <p>{s}</p> })}
        <p class="second">{format!("± {} of {} mm asked for", tenth(f.guard), size(f.limit))}</p>
        {judgement.doubt.map(|d| view! { <p class="checks-cannot">{d}</p> })}
        {judgement.settle.map(|s| view! { <p>{s}</p> })}
    }
}

/// One distance or gap: its label, its field with what may stand beside it, and what was understood.
#[component]
pub(super) fn Read(
    id: String,
    label: String,
    /// Its look.
    class: String,
    #[prop(into)] text: Signal<String>,
    #[prop(into)] typed: Callback<String>,
    #[prop(into)] says: Signal<String>,
    /// What was kept, shown while nothing is typed.
    #[prop(optional, into)]
    kept: Signal<String>,
    /// Enter: what is typed is understood, or nothing is typed.
    #[prop(into)]
    on_enter: Callback<()>,
    /// Keys that step the figure, by halves.
    #[prop(optional)]
    steps: bool,
) -> impl IntoView {
    let session = session();
    let own = StoredValue::new(id.clone());
    let step = move |by: i32| {
        move |_| {
            let next = model::stepped(&text.get_untracked(), by);
            session.typed_by_key(&own.get_value(), &next);
            let _ = typed.try_run(next);
        }
    };
    let inward = format!("{label}: half a millimetre further in");
    let outward = format!("{label}: half a millimetre further out");
    view! {
        <div class=class>
            <label for=id.clone()>{label}</label>
            <div class="read-row">
                {steps.then(|| view! { <button type="button" class="gap-key" aria-label=inward on:click=step(-1)>"−½"</button> })}
                <input
                    id=id
                    type="text"
                    inputmode="text"
                    enterkeyhint="next"
                    autocomplete="off"
                    placeholder=move || kept.get()
                    prop:value=move || text.get()
                    on:input=move |ev| { let _ = typed.try_run(event_target_value(&ev)); }
                    on:keydown=move |e| {
                        if e.key() == "Enter" {
                            e.prevent_default();
                            let _ = on_enter.try_run(());
                        }
                    }
                />
                {steps.then(|| view! { <button type="button" class="gap-key" aria-label=outward on:click=step(1)>"+½"</button> })}
            </div>
            <p class="second" aria-live="polite">{move || says.get()}</p>
        </div>
    }
}
