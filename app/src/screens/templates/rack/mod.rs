//! The rack: templates as things. What was printed is made, measured, hung on a peg, and in the end retired.

mod back;
mod by_hand;

use crate::ports::{clock, fields, ids};
use crate::say;
use crate::state::{Session, session};
use crate::widgets::choice::Choices;
use crate::widgets::read_with::{ReadWith, ReadWithChoices};
use crate::widgets::typing::{TypedLength, Typing};
use back::{Aside, LaidBack, WhyAside};
use by_hand::{MadeByHand, kind_of, kinds};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, ByHand, Hanging, RackState, RackView, Reply, ToMake};
use samespot_core::job::{
    DistanceRead, Edit, EntityRef, FeatureId, Payload, PieceId, SheetOf, TemplateEdit,
    TemplateFact, TemplateId, TemplateKind, TemplateSays,
};
use samespot_core::prepare::rack::{Size, SizeSays, judge_size};
use samespot_core::units::Length;
use std::sync::Arc;

/// The template whose distances are being read.
#[derive(Clone, Copy)]
struct Reading {
    of: RwSignal<Option<TemplateId>>,
    fields: [Typing; 2],
    with: ReadWith,
}

impl Reading {
    fn new() -> Self {
        Self {
            of: RwSignal::new(None),
            fields: [(); 2].map(|()| Typing::of_length(None)),
            with: ReadWith::steel_rule(),
        }
    }

    fn open(self, of: Option<TemplateId>) {
        self.fields.iter().for_each(|f| f.set(""));
        if of.is_some() {
            // The cursor brings its field above the run.
            fields::focus(NAMES[0].to_owned());
            fields::in_sight(".rack-distances");
        }
        self.of.set(of);
    }

    /// What is typed comes to; nothing before anything is typed.
    fn says(self, on: &Hanging) -> Option<Result<SizeSays, String>> {
        let read: Vec<Option<Length>> = self
            .fields
            .iter()
            .map(|f| f.entry().map(|e| e.mm))
            .collect();
        read.iter()
            .any(Option::is_some)
            .then(|| judge_size(&on.distances, &read, self.with.class(), self.with.step()))
    }

    /// The fact of it, once every distance is read.
    fn fact(self, on: &Hanging, day: String) -> Option<Payload> {
        untrack(|| {
            self.says(on)?.ok()?;
            let read: Vec<DistanceRead> = on
                .distances
                .iter()
                .zip(self.fields)
                .map(|(d, f)| {
                    f.entry().map(|read| DistanceRead {
                        between: d.between.clone(),
                        read,
                    })
                })
                .collect::<Option<_>>()?;
            Some(Payload::Template(TemplateFact {
                template: on.id.clone(),
                day,
                says: TemplateSays::Measured {
                    read,
                    class: self.with.class(),
                    step: self.with.step(),
                },
            }))
        })
    }
}

/// Puts a print on the rack.
fn make(print: &ToMake, id: TemplateId, kind: TemplateKind, day: String) -> Option<Payload> {
    let fields = TemplateEdit {
        number: Some(print.number),
        kind: Some(kind),
        feature: print.of.feature().cloned(),
        reference: Some(print.reference.clone()),
        made: Some(day),
        check_every: Some(6),
        ..TemplateEdit::default()
    };
    let edit = Edit::of(EntityRef::Template(id), &fields).ok()?;
    Some(Payload::Edit(edit))
}

fn set(session: Session, id: &TemplateId, fields: &TemplateEdit) {
    if let Ok(edit) = Edit::of(EntityRef::Template(id.clone()), fields) {
        session.say(&[Payload::Edit(edit)]);
    }
}

fn happened(session: Session, id: &TemplateId, says: TemplateSays) {
    session.say(&[Payload::Template(TemplateFact {
        template: id.clone(),
        day: clock::day(),
        says,
    })]);
}

/// *2 templates, 1 not proved*.
#[must_use]
fn headline(view: &RackView) -> String {
    let used = |h: &&Hanging| h.state != RackState::Retired;
    let count = view.hanging.iter().filter(used).count();
    let unsafe_ones = view
        .hanging
        .iter()
        .filter(used)
        .filter(|h| h.state != RackState::Proved || h.stale.is_some())
        .count();
    match (count, unsafe_ones) {
        // What is printed stands right below: the rack holds what was made of it.
        (0, _) if !view.to_make.is_empty() => {
            "Nothing hangs on the rack: what is printed below comes there once it is made"
                .to_owned()
        }
        (0, _) => {
            "The rack is empty: a printed sheet comes here once somebody says it is made".to_owned()
        }
        (1, 0) => "1 template on the rack, proved".to_owned(),
        (n, 0) => format!("{n} templates on the rack, all proved"),
        (1, _) => "1 template on the rack: look at it before it is used".to_owned(),
        (n, k) => format!("{n} templates on the rack, {k} to look at before they are used"),
    }
}

/// What a rack is looked at for: a piece, and the feature in hand; without one the holes.
pub type InHand = Option<(PieceId, Option<FeatureId>)>;

/// The panel.
#[component]
pub fn RackPanel(hand: Signal<InHand>) -> impl IntoView {
    let session = session();
    let found = RwSignal::new(None::<Arc<RackView>>);
    let asked = StoredValue::new(0_u32);
    let reading = Reading::new();
    Effect::new(move |_| {
        let (Some(book), Some((piece, feature))) = (session.book.get(), hand.get()) else {
            found.set(None);
            return;
        };
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        spawn_local(async move {
            let ask = Ask::Rack {
                job: book.id().clone(),
                feature,
                piece,
            };
            let says = Session::ask(book, ask).await;
            if asked.try_get_value() == Some(number)
                && let Ok((Reply::Rack(view), _)) = says
            {
                let _ = found.try_set(Some(Arc::from(view)));
            }
        });
    });
    let to_make =
        Memo::new(move |_| found.with(|f| f.as_ref().map_or_else(Vec::new, |v| v.to_make.clone())));
    let hanging =
        Memo::new(move |_| found.with(|f| f.as_ref().map_or_else(Vec::new, |v| v.hanging.clone())));
    let by_hand =
        Memo::new(move |_| found.with(|f| f.as_ref().map_or_else(Vec::new, |v| v.by_hand.clone())));
    let shown = move || found.with(Option::is_some);
    view! {
        <Show when=shown>
            <section class="rack sheet" aria-labelledby="rack-title">
                <h2 id="rack-title">{move || found.with(|f| f.as_deref().map(headline))}</h2>
                {move || to_make.get().into_iter().map(|print| view! { <Printed print=print /> }).collect_view()}
                <ul>
                    <For each=move || hanging.get() key=|h| serde_json::to_string(h).unwrap_or_default() let(one)>
                        <One one=one reading=reading />
                    </For>
                </ul>
                {move || by_hand.get().into_iter().map(|one| view! { <ByHandKey one=one /> }).collect_view()}
            </section>
        </Show>
    }
}

/// The key that opens the form of one made without a print.
#[component]
fn ByHandKey(one: ByHand) -> impl IntoView {
    let making = RwSignal::new(false);
    let (key, says) = match one.of.fixing() {
        Some(id) => (
            format!("rack-by-hand-{id}"),
            format!(
                "Add a jig, template or plate of {} made without a print",
                one.title
            ),
        ),
        None => (
            "rack-by-hand".to_owned(),
            "Add one made without a print".to_owned(),
        ),
    };
    let one = StoredValue::new(one);
    view! {
        <Show
            when=move || making.get()
            fallback=move || {
                view! {
                    <button type="button" class="key" id=key.clone() on:click=move |_| making.set(true)>
                        {says.clone()}
                    </button>
                }
            }
        >
            <MadeByHand one=one.get_value() open=making />
        </Show>
    }
}

/// What is printed and not made yet.
#[component]
fn Printed(print: ToMake) -> impl IntoView {
    let session = session();
    // What is painted through may be made of several things; what is drilled through is what it is.
    let painted = matches!(print.of, SheetOf::Feature(_));
    let kind = RwSignal::new(print.kind.name().to_owned());
    let key = if painted {
        "rack-made".to_owned()
    } else {
        format!("rack-made-{}", print.of)
    };
    let number = print.number;
    let whose = format!(
        "{}{} for {} {}, printed {}, {}",
        say::job::capital(&print.title),
        if painted {
            String::new()
        } else {
            format!(", {},", print.kind.name())
        },
        if print.pieces.chars().all(|c| c.is_ascii_digit()) {
            "piece"
        } else {
            "pieces"
        },
        print.pieces,
        print.day,
        print.reference
    );
    let stale = print.stale.clone();
    let take = move |_| {
        let kind = if painted {
            kind_of(&kind.get_untracked())
        } else {
            print.kind
        };
        if let Ok(id) = TemplateId::new(&format!("t{}", ids::thing()))
            && let Some(fact) = make(&print, id, kind, clock::day())
        {
            session.say(&[fact]);
        }
    };
    view! {
        <div class="rack-print">
            <p>
                <strong>"Printed, not made yet: "</strong>
                {whose}
            </p>
            {match stale {
                Some(why) => view! { <p class="job-why">{why}</p> }.into_any(),
                None => view! {
                    {painted
                        .then(|| {
                            view! {
                                <Choices
                                    legend="Made as"
                                    shown=true
                                    choices=kinds()
                                    taken=kind
                                    take=move |v| kind.set(v)
                                />
                            }
                        })}
                    <button type="button" id=key class="key" on:click=take>
                        {format!("It is made: write {number} on it")}
                    </button>
                }
                    .into_any(),
            }}
        </div>
    }
}

/// One template.
#[component]
fn One(one: Hanging, reading: Reading) -> impl IntoView {
    let session = session();
    let id = StoredValue::new(one.id.clone());
    let retired = one.state == RackState::Retired;
    let can_read = !retired && (1..=2).contains(&one.distances.len());
    let open = Memo::new(move |_| reading.of.get() == Some(id.get_value()));
    let room = one.room;
    let back = RwSignal::new(false);
    let aside = RwSignal::new(None::<Aside>);
    let not_back = Callback::new(move |()| back.set(false));
    let not_aside = Callback::new(move |()| aside.set(None));
    let pieces = if one.serves == 1 { "piece" } else { "pieces" };
    let every = match one.check_every {
        0 => String::new(),
        n => n.to_string(),
    };
    let told = StoredValue::new(one.clone());
    view! {
        <li class="rack-one" class:bad=one.state != RackState::Proved || one.stale.is_some()>
            <p class="rack-number figure">{one.number}</p>
            <div class="rack-what">
                <p>
                    <strong>{say::job::capital(&one.title)}</strong>
                    {format!(", for {pieces} {}", one.pieces)}
                </p>
                <p class="rack-says">{one.says.clone()}</p>
                {one.proving.clone().map(|why| view! { <p class="rack-says">{why}</p> })}
                {one.stale.clone().map(|why| view! { <p class="job-why">{why}</p> })}
                {one.lines.iter().map(|l| view! { <p class="second">{l.clone()}</p> }).collect_view()}
            </div>
            <Show when=move || !retired>
                <div class="job-row">
                    <label class="job-field short">
                        <span>"Hangs on"</span>
                        <input
                            class="rack-hangs"
                            type="text"
                            autocomplete="off"
                            placeholder="peg 4"
                            prop:value=told.with_value(|o| o.hangs.clone())
                            on:change=move |ev| {
                                let fields = TemplateEdit {
                                    hangs: Some(event_target_value(&ev).trim().to_owned()),
                                    ..TemplateEdit::default()
                                };
                                set(session, &id.get_value(), &fields);
                            }
                        />
                    </label>
                    <label class="job-field short">
                        <span>"Read again after so many pieces"</span>
                        <input
                            type="text"
                            inputmode="numeric"
                            autocomplete="off"
                            placeholder="never"
                            prop:value=every.clone()
                            on:change=move |ev| {
                                let typed = event_target_value(&ev);
                                let every = if typed.trim().is_empty() { Ok(0) } else { typed.trim().parse() };
                                match every {
                                    Ok(every) => set(
                                        session,
                                        &id.get_value(),
                                        &TemplateEdit { check_every: Some(every), ..TemplateEdit::default() },
                                    ),
                                    Err(_) => session.notice(
                                        format!("“{typed}” is no number of pieces: type 6, or nothing for never"),
                                        true,
                                    ),
                                }
                            }
                        />
                    </label>
                    <Show when=move || can_read && !open.get()>
                        <button
                            type="button"
                            class="key rack-read"
                            on:click=move |_| reading.open(Some(id.get_value()))
                        >
                            "Read its distances"
                        </button>
                    </Show>
                    <Show when=move || room.is_some() && !back.get()>
                        <button type="button" class="key rack-back" on:click=move |_| back.set(true)>
                            "Lay it back"
                        </button>
                    </Show>
                    <button type="button" class="key" on:click=move |_| aside.set(Some(Aside::Worn))>
                        "It is worn"
                    </button>
                    <button type="button" class="key" on:click=move |_| aside.set(Some(Aside::Retired))>
                        "Retire it"
                    </button>
                </div>
            </Show>
            <Show when=move || open.get()>
                <Distances one=told.get_value() reading=reading />
            </Show>
            {move || {
                let room = room.filter(|_| back.get())?;
                Some(view! { <LaidBack one=told.get_value() room=room close=not_back /> })
            }}
            {move || aside.get().map(|aside| view! { <WhyAside id=id.get_value() aside=aside close=not_aside /> })}
        </li>
    }
}

const NAMES: [&str; 2] = ["rack-first", "rack-second"];

/// The two distances of one template.
#[component]
fn Distances(one: Hanging, reading: Reading) -> impl IntoView {
    let session = session();
    let labels: Vec<String> = one
        .distances
        .iter()
        .map(|d| format!("{}, drawn {:.1} mm", d.between, d.drawn.mm()))
        .collect();
    let one = StoredValue::new(one);
    let says = Memo::new(move |_| one.with_value(|o| reading.says(o)));
    let keep = move |_| {
        let fact = one.with_value(|o| reading.fact(o, clock::day()));
        if let Some(fact) = fact {
            session.say(&[fact]);
            reading.open(None);
        }
    };
    let asked = labels.len();
    let full = move || {
        reading
            .fields
            .iter()
            .take(asked)
            .all(|f| f.entry().is_some())
    };
    view! {
        <div class="rack-distances">
            <p class="second">
                "On the finished template, flat on the bench. One sheet: its two bars, before they are cut off. Several: joined first, from the middle of one cross or hole to the middle of the other. A jig or a plate: on the plate itself, from hole to hole; calipers over two pins in the holes, less one pin, tell it to a tenth"
            </p>
            <div class="printer-fields">
                {labels
                    .into_iter()
                    .zip(NAMES)
                    .zip(reading.fields)
                    .map(|((label, id), typed)| {
                        // Enter goes on to the next, from the last to keeping them.
                        let done = move |by_key: bool| {
                            if by_key && typed.entry_now().is_some() {
                                let next = NAMES.iter().skip_while(|n| **n != id).nth(1);
                                let next = next.filter(|n| NAMES.iter().take(asked).any(|a| a == *n));
                                fields::go_on_to(next.copied().unwrap_or("rack-keep"));
                            }
                        };
                        view! { <TypedLength id=id label=Signal::derive(move || label.clone()) typing=typed done=done /> }
                    })
                    .collect_view()}
            </div>
            <ReadWithChoices with=reading.with />
            <div aria-live="polite">
                {move || match says.get() {
                    None => ().into_any(),
                    Some(Err(why)) => view! { <p class="job-why">{why}</p> }.into_any(),
                    Some(Ok(says)) => {
                        let lead = match says.size {
                            Size::Proved => "At size",
                            Size::NotProved => "Size not proved yet",
                            Size::Wrong => "Not at size: print again at 100 %",
                        };
                        view! {
                            <p>
                                <strong>{lead}</strong>
                            </p>
                            {says.lines.into_iter().map(|l| view! { <p class="second">{l}</p> }).collect_view()}
                        }
                            .into_any()
                    }
                }}
            </div>
            <div class="job-row">
                <Show when=move || full() && matches!(says.get(), Some(Ok(_)))>
                    <button type="button" id="rack-keep" class="key main" on:click=keep>
                        "Keep these readings"
                    </button>
                </Show>
                <button type="button" class="key" on:click=move |_| reading.open(None)>
                    "Not now"
                </button>
            </div>
        </div>
    }
}
