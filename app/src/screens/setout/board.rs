//! Plan and height: the pattern on the gridded board, mark by mark, before and after it is moved;
//! and the board's own sheets.

use super::folded::Folded;
use super::full_size::save_sheets;
use super::hand::Hand;
use super::model;
use crate::ports::clock;
use crate::state::Session;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{
    BoardAxis, CastingId, Entry, FactId, Job, MarkId, Measured, Payload, PointRef, Reading,
    Withdrawal,
};
use samespot_core::prepare::setout::{BoardMark, BoardView};
use samespot_core::units::Length;

const AXES: [BoardAxis; 3] = [BoardAxis::Across, BoardAxis::Back, BoardAxis::Up];

/// What is said when a mark is read on the board: what was read of it in that set-up before is
/// corrected, what never was is new, what stands already is left.
pub fn placed(
    job: &Job,
    casting: &CastingId,
    mark: &MarkId,
    stood: u32,
    values: [Entry; 3],
) -> Vec<Payload> {
    let one = |(axis, value): (BoardAxis, Entry)| {
        let of = Measured::Board {
            of: PointRef::Mark(mark.clone()),
            axis,
            stood,
        };
        let before = job
            .readings
            .iter()
            .rev()
            .find(|r| r.says.casting == *casting && r.says.of == of);
        match before {
            Some(r) if r.says.value.typed == value.typed => None,
            Some(r) => Some(model::correct(r.id, value)),
            None => Some(Payload::Reading(Reading {
                casting: casting.clone(),
                of,
                value,
                instrument: None,
                hooked: false,
                stage: None,
                within: None,
                set_aside: None,
            })),
        }
    };
    AXES.into_iter().zip(values).filter_map(one).collect()
}

/// Every mark of the part whose face is in hand, by letter; by its face too where others share it.
fn marks(hand: Hand) -> Memo<Option<Vec<(MarkId, String)>>> {
    Memo::new(move |_| {
        let face = hand.face.get()?;
        hand.of_job(|j| model::marks_of_part(j, &face))
    })
}

/// The mark being read. A handle; copies are the same.
#[derive(Clone, Copy)]
struct InHand {
    /// Across, back, up.
    fields: [Typing; 3],
    /// The mark, where somebody chose one.
    mark: RwSignal<Option<MarkId>>,
    /// How often it was moved, as somebody just said.
    moved: RwSignal<u32>,
    /// The set-up of what is read before and typed again now.
    again: RwSignal<Option<u32>>,
}

impl InHand {
    fn new() -> Self {
        Self {
            fields: [
                Typing::either_side(None, "left of the edge", "right of the edge"),
                Typing::either_side(None, "in front of the edge", "behind the edge"),
                Typing::either_side(None, "below the board", "above the board"),
            ],
            mark: RwSignal::new(None),
            moved: RwSignal::new(0),
            again: RwSignal::new(None),
        }
    }

    /// Something that was read is typed again.
    fn take_up(self, read: &BoardMark) {
        for (field, was) in self.fields.iter().zip(&read.read) {
            field.set(was.as_ref().map_or("", |(_, typed, _)| typed));
        }
        self.mark.set(Some(read.mark.clone()));
        self.again.set(Some(read.stood));
    }

    fn put_down(self) {
        for field in self.fields {
            field.set("");
        }
        self.mark.set(None);
        self.again.set(None);
    }
}

#[component]
pub(super) fn OnBoard(hand: Hand) -> impl IntoView {
    let view = RwSignal::new(None::<BoardView>);
    let says = RwSignal::new(None::<String>);
    let read = InHand::new();
    let part = Memo::new(move |_| {
        let face = hand.face.get()?;
        hand.of_job(|j| j.faces.get(&face)?.part.clone()).flatten()
    });
    Effect::new(move |_| {
        let (Some(part), Some(book)) = (part.get(), hand.session.book.get()) else {
            view.set(None);
            return;
        };
        spawn_local(async move {
            let job = book.id().clone();
            let came = Session::ask(book, Ask::Board { job, part }).await;
            match came {
                Ok((Reply::Board(board), _)) => {
                    let _ = view.try_set(Some(*board));
                }
                Ok(_) => {}
                Err(why) => {
                    let _ = view.try_set(None);
                    let _ = says.try_set(Some(crate::say::job::capital(&why)));
                }
            }
        });
    });
    view! {
        <Folded id="setout-board" name="Plan and height" class="sheet setout-readings"
            used=Signal::derive(move || view.with(|v| v.as_ref().is_some_and(|v| !v.marks.is_empty())))>
            <p class="second">"Where the faces are on the piece, and from where each is seen. Stand the pattern on the gridded board as it will stand, its front towards the front edge; plumb each mark down to the grid and take its height with a stick. Three marks of a face are enough, and their heights say which way is up on it. Where each mark lies on its face is left to the tape, which reads closer than a grid"</p>
            <Sheets hand=hand />
            <OneMark hand=hand view=view read=read />
            {move || says.get().map(|s| view! { <p role="status">{s}</p> })}
            <Found hand=hand view=view read=read />
        </Folded>
    }
}

#[component]
fn Sheets(hand: Hand) -> impl IntoView {
    let across = Typing::of_length(Some(&Entry::of_mm(600.0)));
    let back = Typing::of_length(Some(&Entry::of_mm(400.0)));
    let every = Typing::of_length(Some(&Entry::of_mm(50.0)));
    let says = RwSignal::new(None::<String>);
    let download = move |_| {
        let (Some(across), Some(back), Some(every), Some(book)) = (
            across.entry_now(),
            back.entry_now(),
            every.entry_now(),
            hand.session.book.get_untracked(),
        ) else {
            says.set(Some("Say how large the board is first".to_owned()));
            return;
        };
        spawn_local(async move {
            let ask = Ask::BoardSheet {
                job: book.id().clone(),
                size: [across.mm, back.mm],
                every: every.mm,
                paper: book.job.about.paper.unwrap_or_default(),
                day: clock::day(),
            };
            let said = save_sheets(book, ask, "").await;
            let _ = says.try_set(said);
        });
    };
    view! {
        <details class="board-print">
            <summary>"Print the grid for the board"</summary>
            <div class="fields">
                <TypedLength id="board-width" label="Board across" typing=across />
                <TypedLength id="board-depth" label="Board front to back" typing=back />
                <TypedLength id="board-every" label="A grid line every" typing=every />
            </div>
            <button type="button" id="board-sheet" class="key" on:click=download>
                "Download the grid, true size"
            </button>
            {move || says.get().map(|s| view! { <p role="status">{s}</p> })}
        </details>
    }
}

#[component]
fn OneMark(hand: Hand, view: RwSignal<Option<BoardView>>, read: InHand) -> impl IntoView {
    let InHand {
        fields,
        mark,
        moved,
        again,
    } = read;
    // The last set-up there is, unless somebody has just moved it.
    let stood = move || {
        let last = view.with(|v| v.as_ref()?.marks.iter().map(|m| m.stood).max());
        let now = moved.get().max(last.unwrap_or(0));
        again.get().unwrap_or(now)
    };
    let all = marks(hand);
    let here = move || {
        let all = all.get().unwrap_or_default();
        let chosen = mark.get().filter(|m| all.iter().any(|(id, _)| id == m));
        chosen.or_else(|| {
            // The next that was not read yet as it stands now.
            let now = stood();
            let read = |m: &MarkId| {
                view.with(|v| {
                    let mut all = v.iter().flat_map(|v| &v.marks);
                    all.any(|r| r.mark == *m && r.stood == now)
                })
            };
            let next = all.iter().find(|(id, _)| !read(id));
            next.or(all.first()).map(|(id, _)| id.clone())
        })
    };
    let keep = move |_| {
        let [Some(x), Some(y), Some(z)] = fields.map(Typing::entry_now) else {
            return;
        };
        let (Some(mark_now), Some(casting)) = (untrack(here), hand.pattern()) else {
            return;
        };
        let said = hand.with_job(|j| placed(j, &casting, &mark_now, untrack(stood), [x, y, z]));
        hand.say(&said.unwrap_or_default());
        read.put_down();
    };
    // What was read of the mark in hand, where it is typed again.
    let facts = move || {
        let (mark, stood) = (mark.get()?, again.get()?);
        view.with(|v| {
            let one = v.as_ref()?.marks.iter();
            let mut one = one.filter(|m| m.mark == mark && m.stood == stood);
            let read = one.next()?.read.iter().flatten();
            Some(read.map(|r| r.0).collect::<Vec<FactId>>())
        })
    };
    let out = move |_| {
        let each = untrack(facts).unwrap_or_default();
        let each = each
            .into_iter()
            .map(|target| Payload::Withdraw(Withdrawal { target }));
        hand.say(&each.collect::<Vec<_>>());
        read.put_down();
    };
    let ready = move || fields.iter().all(|f| f.entry().is_some());
    let any = move || view.with(|v| v.as_ref().is_some_and(|v| !v.marks.is_empty()));
    let [across, back, height] = fields;
    view! {
        <p class="second" id="board-set-up">
            {move || match stood() {
                0 => "As it stood first".to_owned(),
                n if again.get().is_some() => format!("Set-up {}", n + 1),
                n => format!("Set-up {}: read three marks again that were read before, then those that can be reached now", n + 1),
            }}
        </p>
        <label class="job-field">
            <span>"Mark"</span>
            <select id="board-mark" on:change=move |ev| mark.set(MarkId::new(&event_target_value(&ev)).ok())>
                {move || {
                    let chosen = here();
                    all.get().unwrap_or_default().into_iter().map(|(id, letter)| {
                        let taken = chosen.as_ref() == Some(&id);
                        view! { <option value=id.to_string() selected=taken>{letter}</option> }
                    }).collect_view()
                }}
            </select>
        </label>
        <div class="fields">
            <TypedLength id="board-across" label="Across, from the left edge" typing=across />
            <TypedLength id="board-back" label="Back, from the front edge" typing=back />
            <TypedLength id="board-height" label="Height above the board" typing=height />
        </div>
        <div class="job-row">
            <button type="button" id="board-keep" class="key main" on:click=keep
                aria-disabled=move || if ready() { "false" } else { "true" }>
                {move || if ready() { "Keep it" } else { "Type all three" }}
            </button>
            <Show when=move || again.get().is_some()>
                <button type="button" id="board-out" class="key" on:click=out>"Take it out"</button>
                <button type="button" class="key" on:click=move |_| read.put_down()>"Leave it as it is"</button>
            </Show>
            <Show when=move || any() && again.get().is_none()>
                <button type="button" id="board-moved" class="key" on:click=move |_| moved.set(untrack(stood) + 1)>
                    "It was moved"
                </button>
            </Show>
        </div>
    }
}

/// *240*.
fn figure(read: Option<&(FactId, String, Length)>) -> String {
    read.map_or_else(|| "–".to_owned(), |(_, typed, _)| typed.clone())
}

#[component]
fn Found(hand: Hand, view: RwSignal<Option<BoardView>>, read: InHand) -> impl IntoView {
    let all = marks(hand);
    move || {
        let view = view.get().filter(|v| !v.marks.is_empty())?;
        let all = all.get().unwrap_or_default();
        Some(view! {
            <ul id="board-faces">
                {view.faces.iter().map(|f| view! {
                    <li>{crate::say::job::capital(&f.says)}</li>
                }).collect_view()}
                {view.ties.iter().map(|t| view! { <li class="second">{t.clone()}</li> }).collect_view()}
            </ul>
            <table class="setout-table" id="board-table">
                <thead>
                    <tr>
                        <th scope="col">"Mark"</th><th scope="col">"across"</th>
                        <th scope="col">"back"</th><th scope="col">"height"</th><th scope="col"></th>
                    </tr>
                </thead>
                <tbody>
                    {view.marks.iter().map(|m| {
                        let known = all.iter().find(|(id, _)| *id == m.mark);
                        let letter = known.map_or_else(|| m.letter.clone(), |(_, words)| words.clone());
                        let name = match m.stood {
                            0 => letter,
                            n => format!("{letter}, set-up {}", n + 1),
                        };
                        let again = m.clone();
                        view! {
                            <tr>
                                <th scope="row">{name.clone()}</th>
                                {m.read.iter().map(|r| view! { <td class="figure">{figure(r.as_ref())}</td> }).collect_view()}
                                <td>
                                    <button type="button" class="key" aria-label=format!("Change {name}") on:click=move |_| read.take_up(&again)>
                                        "Change"
                                    </button>
                                </td>
                            </tr>
                        }
                    }).collect_view()}
                </tbody>
            </table>
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn a_mark_read_anew_is_corrected_only_where_it_differs() {
        use crate::screens::job::model::edit;
        use samespot_core::job::{CastingEdit, EntityRef, MarkEdit};
        use samespot_core::job::{Ledger, ReplicaId, Writer};
        let mut ledger = Ledger::new("j".to_owned().try_into().unwrap());
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        let (casting, mark) = (
            CastingId::new("pattern").unwrap(),
            MarkId::new("a").unwrap(),
        );
        let there = [
            edit(
                EntityRef::Mark(mark.clone()),
                &MarkEdit {
                    letter: Some("A".to_owned()),
                    ..MarkEdit::default()
                },
            ),
            edit(
                EntityRef::Casting(casting.clone()),
                &CastingEdit {
                    pattern: Some(true),
                    ..CastingEdit::default()
                },
            ),
        ];
        for payload in there.iter().flatten() {
            ledger.write(&writer, payload).unwrap();
        }
        let entries = |z: f64| [10.0, 20.0, z].map(Entry::of_mm);
        let first = placed(&ledger.fold(), &casting, &mark, 0, entries(30.0));
        assert_eq!(first.len(), 3);
        for payload in &first {
            ledger.write(&writer, payload).unwrap();
        }
        let job = ledger.fold();
        assert_eq!(placed(&job, &casting, &mark, 0, entries(30.0)).len(), 0);
        let again = placed(&job, &casting, &mark, 0, entries(31.0));
        assert!(
            matches!(again.as_slice(), [Payload::Correct(_)]),
            "{again:?}"
        );
        // Moved, it is another reading.
        assert_eq!(placed(&job, &casting, &mark, 1, entries(31.0)).len(), 3);
    }
}
