//! Holes: one at a time in large figures, after the figure is strapped.

mod bolting;
mod checked;
mod cured;
mod guides;
mod hand;
mod scene;
mod shared;
mod stops;

use crate::ports::clock;
use crate::route::Route;
use crate::say;
use crate::screens::templates::RackPanel;
use crate::state::session;
use crate::widgets::looked::{Looked, Until};
use bolting::{Bolting, Hatches};
use checked::Check;
use cured::Cured;
use guides::{Guides, Plate};
use hand::{At, Hand, Question, found};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::Ask;
use samespot_core::prepare::holes::{
    CAUTIONS, DEFERS, FixingView, HoleView, STRAPPED, SwingView, clamped_words, comes_out_words,
    layers_words, lean_words, percent, running_words, stop_words, through_words, tilts_words,
};
use samespot_core::prepare::mm;
use scene::{FIGURE_OFF, LETTER_OFF, WIDE, scene};
use stops::Stops;

/// The screen.
#[component]
pub fn Holes() -> impl IntoView {
    let hand = Hand::take(session());
    // What is missing is said on another screen: that is where the empty one leads.
    let then = Signal::derive(move || {
        hand.session.book.with(|b| {
            let book = b.as_ref()?;
            let job = book.id().clone();
            Some(if book.job.pieces.is_empty() {
                (
                    Route::Job { job, piece: None }.address(),
                    "Set up the pieces of the run",
                )
            } else {
                (
                    Route::SetOut { job, face: None }.address(),
                    "Set out a bracket and its holes",
                )
            })
        })
    });
    view! {
        <Until looked=hand.looked working="Laying the holes out…" nothing="There are no holes to show yet" then=then />
        <Show when=move || hand.looked.with(|l| matches!(l, Looked::View(v) if v.fixings.is_empty()))>
            // Nothing is drilled: what is cut out has its card all the same.
            <div class="holes">
                <Hatches hand=hand />
            </div>
        </Show>
        <Show when=move || hand.looked.with(|l| matches!(l, Looked::View(v) if !v.fixings.is_empty()))>
            <div class="holes">
                <section class="sheet holes-face" aria-label="The face with its marks and holes">
                    <Face hand=hand />
                </section>
                <div class="holes-side">
                    <Show when=move || hand.strapped.get() fallback=move || view! { <Before hand=hand /> }>
                        <Panel hand=hand />
                    </Show>
                </div>
                <Stops hand=hand />
                <Plate hand=hand />
                <Cured hand=hand />
                <Guides hand=hand />
                <RackPanel hand=Signal::derive(move || hand.piece.get().map(|(_, piece)| (piece, None))) />
                <Bolting hand=hand />
                <Hatches hand=hand />
                <Notes hand=hand />
            </div>
        </Show>
    }
}

/// The fixing in hand: that of the hole that is open, else the first.
fn fixing_in_hand(hand: Hand) -> Option<FixingView> {
    let view = hand.view()?;
    let at = hand.at.get();
    let own = at.and_then(|at| found(&view, &at).map(|(f, _)| f.clone()));
    own.or_else(|| view.fixings.first().cloned())
}

/// The page to take to the piece: printed or saved from beside the title.
#[component]
fn Sheet(hand: Hand) -> impl IntoView {
    let busy = RwSignal::new(false);
    let make = move |print: bool| {
        let (Some(book), Some((_, piece))) = (
            hand.session.book.get_untracked(),
            hand.piece.get_untracked(),
        ) else {
            return;
        };
        let ask = Ask::DrillSheet {
            job: book.id().clone(),
            piece,
            paper: book.job.about.paper.unwrap_or_default(),
            day: clock::day(),
        };
        if print {
            spawn_local(hand.session.print(book, ask, busy));
        } else {
            spawn_local(hand.session.download(book, ask, busy));
        }
    };
    view! {
        <div class="holes-sheet">
            <button type="button" class="key" on:click=move |_| make(true)>
                {move || if busy.get() { "Making…" } else { "Print the drill sheet" }}
            </button>
            <button type="button" class="key" on:click=move |_| make(false)>
                "Download it"
            </button>
        </div>
    }
}

#[component]
fn Face(hand: Hand) -> impl IntoView {
    // Of its own, so that nothing moves under the finger while another hole is chosen.
    let sheet = view! { <Sheet hand=hand /> };
    let title = move || {
        let (view, fixing) = (hand.view()?, fixing_in_hand(hand)?);
        Some(view! {
            <h1>{format!("Piece {}, {}", view.piece, fixing.name.to_lowercase())}</h1>
            <p class="second">{format!("{}. {}", fixing.on, say::holes::progress(&fixing))}</p>
            {fixing.near.iter().map(|n| view! { <p class="holes-caution">{n.clone()}</p> }).collect_view()}
        })
    };
    let picture = move || {
        let fixing = fixing_in_hand(hand)?;
        let open = hand.strapped.get();
        let at = hand.at.get().filter(|_| open).map(|a| a.hole);
        let picture = scene(&fixing, at).map(|s| {
            let swings = s
                .swings
                .iter()
                .map(|swing| {
                    let ([x, y], [u, v]) = (swing.from, swing.to);
                    let d = format!("M{x:.1} {y:.1}L{u:.1} {v:.1}");
                    view! {
                        {(!swing.check).then(|| view! { <path class="under" d=d.clone() /> })}
                        <path class=if swing.check { "dash" } else { "narrow on-yellow" } d=d.clone() />
                    }
                })
                .collect_view();
            // Over all lines, so that none runs through a figure.
            let lengths = s
                .swings
                .iter()
                .map(|swing| {
                    let ([x, y], turn) = swing.written;
                    let words = if swing.check {
                        format!("check {}", swing.length)
                    } else {
                        swing.length.clone()
                    };
                    view! {
                        <text
                            class="figure holes-length"
                            transform=format!("translate({x:.1} {y:.1}) rotate({turn:.1}) translate(0 -{FIGURE_OFF})")
                        >
                            {words}
                        </text>
                    }
                })
                .collect_view();
            let arcs = s
                .arcs
                .iter()
                .map(|arc| {
                    let mut d = String::new();
                    for (k, [x, y]) in arc.iter().enumerate() {
                        d.push_str(&format!("{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" }));
                    }
                    view! { <path class="narrow" d=d /> }
                })
                .collect_view();
            let not_here = s.not_here.map(|[x, y]| {
                view! {
                    <circle class="dash holes-not-here" cx=x cy=y r="17" />
                    <text class="holes-length" x=x y=y + 40.0>"not here"</text>
                }
            });
            let marks = s
                .marks
                .iter()
                .map(|m| {
                    let [x, y] = m.at;
                    view! {
                        <path class="wide" d=format!("M{:.1} {y:.1}h22m-11 -11v22", x - 11.0) />
                        <g class="letter" transform=format!("translate({:.1} {:.1})", x + LETTER_OFF[0], y + LETTER_OFF[1])>
                            <rect x="-13" y="-15" width="26" height="28" />
                            <text y="6">{m.words.clone()}</text>
                        </g>
                    }
                })
                .collect_view();
            let holes = s
                .holes
                .iter()
                .map(|h| {
                    let [x, y] = h.at;
                    view! {
                        <circle class="wide paper" cx=x cy=y r="17" />
                        <text class="figure holes-number" x=x y=y + 8.0>{h.words.clone()}</text>
                    }
                })
                .collect_view();
            view! {
                <svg
                    class="holes-view"
                    viewBox=format!("0 0 {WIDE} {:.0}", s.high)
                    role="img"
                    aria-label="Marks with their letters, holes with their numbers, seen from outside"
                >
                    {swings}
                    {arcs}
                    {not_here}
                    {marks}
                    {holes}
                    {lengths}
                </svg>
            }
        });
        let found: Vec<String> = fixing
            .marks
            .iter()
            .filter_map(|m| match &m.gone {
                Some(why) => Some(why.clone()),
                None if m.found.trim().is_empty() => None,
                None => Some(format!("{}: {}", m.letter, m.found)),
            })
            .collect();
        Some(view! {
            {picture}
            {fixing.cannot.clone().map(|why| view! { <p>{say::job::capital(&why)}</p> })}
            <ul class="second">
                {found.into_iter().map(|f| view! { <li>{f}</li> }).collect_view()}
            </ul>
        })
    };
    view! {
        <div>{title}</div>
        {sheet}
        {picture}
    }
}

/// What is read before the first hole opens.
#[component]
fn Before(hand: Hand) -> impl IntoView {
    view! {
        <section aria-labelledby="holes-before">
            <h2 id="holes-before">"Before you drill"</h2>
            <ul class="holes-cautions">
                {CAUTIONS.map(|c| view! { <li>{c}</li> })}
            </ul>
            <button type="button" class="key main big" on:click=move |_| hand.strapped.set(true)>
                <strong>{STRAPPED}</strong>
                <span>"Tick this, and the first hole opens"</span>
            </button>
        </section>
    }
}

fn swing(label: &'static str, swing: &SwingView) -> impl IntoView + use<> {
    view! {
        <li class:check=label == "check">
            <span class="second">{label}</span>
            <span class="letter-box">{swing.from.clone()}</span>
            <strong class="figure">{mm(swing.length)}</strong>
            <span class="unit">{say::holes::lies(swing)}</span>
        </li>
    }
}

fn tape(hole: &HoleView) -> AnyView {
    let Some(tape) = &hole.tape else {
        let why = hole.no_tape.clone().unwrap_or_default();
        return view! { <p class="holes-caution">{say::job::capital(&why)}</p> }.into_any();
    };
    view! {
        <ul class="holes-swings">
            {swing("from", &tape.first)}
            {swing("and from", &tape.second)}
            {tape.check.as_ref().map(|c| swing("check", c))}
        </ul>
        <p class="holes-lies">{format!("The hole lies {}", tape.side)}</p>
        {hole.running.as_ref().map(|r| view! { <p class="second">{format!("Or by a square: {}", running_words(r))}</p> })}
        {tape
            .warning
            .as_ref()
            .map(|w| view! { <p class="holes-caution">{say::job::capital(w)}</p> })}
    }
    .into_any()
}

fn figures(fixing: &FixingView, hole: &HoleView) -> impl IntoView + use<> {
    // A depth that is only reckoned is never shown large.
    let depth = fixing.through.map(|t| {
        let big = t
            .measured
            .then(|| view! { <strong class="figure">{mm(t.most)}</strong> });
        view! {
            <dt>"Depth"</dt>
            <dd>{big}<span>{through_words(t)}</span></dd>
        }
    });
    let stop = fixing.stop.clone().map(|stop| {
        let words = stop_words(&stop);
        view! {
            <dt>"Stop"</dt>
            <dd>
                <strong class="figure">{mm(stop.collar)}</strong>
                <span>{words.into_iter().map(|w| view! { {w} ". " }).collect_view()}</span>
            </dd>
        }
    });
    let no_depth = fixing.no_through.clone().map(|why| {
        view! {
            <dt>"Depth"</dt>
            <dd><span>{why}</span></dd>
        }
    });
    view! {
        <dl class="holes-figures">
            <dt>"Drill"</dt>
            <dd><strong class="figure">{mm(fixing.drill)}</strong><span>{format!("mm, {}", fixing.drill_for)}</span></dd>
            <dt>"Lean"</dt>
            <dd><span>{say::job::capital(&lean_words(hole))}</span></dd>
            {depth}
            {no_depth}
            {stop}
        </dl>
    }
}

/// What is looked at once, below what is tapped when the drill is out.
fn further(fixing: &FixingView, hole: &HoleView) -> impl IntoView + use<> {
    view! {
        <dl class="holes-figures holes-further">
            {hole.tilts.filter(|_| !hole.towards.is_empty()).map(|t| view! {
                <dt>"Set by"</dt>
                <dd><span>{format!("two tilts from square: {}", tilts_words(t))}</span></dd>
            })}
            {fixing.plumb.clone().map(|words| view! {
                <dt>"Plumb"</dt>
                <dd><span>{words}</span></dd>
            })}
            {hole.way.as_ref().map(|way| view! {
                <dt>"Through"</dt>
                <dd><span>{layers_words(way)}</span></dd>
                <dt>"Bolt"</dt>
                <dd><span>{format!("clamps {}", clamped_words(way))}</span></dd>
                <dt>"Inside"</dt>
                <dd><span>{format!("comes out {}", comes_out_words(way))}</span></dd>
            })}
        </dl>
    }
}

/// The holes of every bracket of the piece: each bracket by its name where there are several, as all of
/// them begin at hole 1.
#[component]
fn Numbers(hand: Hand) -> impl IntoView {
    move || {
        hand.view().map(|view| {
            let several = view.fixings.len() > 1;
            view.fixings
                .iter()
                .map(|fixing| {
                    let name =
                        several.then(|| view! { <p class="legend">{fixing.name.clone()}</p> });
                    let spoken = if several {
                        format!("Holes, {}", fixing.name)
                    } else {
                        "Holes".to_owned()
                    };
                    let keys = fixing.holes.iter().map(|hole| number(hand, fixing, hole));
                    view! {
                        {name}
                        <div class="holes-numbers" role="group" aria-label=spoken>
                            {keys.collect_view()}
                        </div>
                    }
                })
                .collect_view()
        })
    }
}

fn number(hand: Hand, fixing: &FixingView, hole: &HoleView) -> impl IntoView + use<> {
    let at = At {
        fixing: fixing.fixing.clone(),
        hole: hole.number,
    };
    let (chosen, done) = (at.clone(), hole.drilled.is_some());
    view! {
        <button
            type="button"
            class="key"
            aria-pressed=move || hand.at.with(|a| a.as_ref() == Some(&chosen)).to_string()
            on:click=move |_| hand.choose(at.clone())
        >
            {format!("Hole {}", hole.number)}
            {done.then_some(" ✓")}
        </button>
    }
}

/// Asked where the keys are, before words go.
fn asking(hand: Hand, asked: Question) -> impl IntoView + use<> {
    view! {
        <div class="holes-question" role="alert">
            <p>{asked.words}</p>
            <button type="button" class="key main" id="holes-leave" on:click=move |_| hand.question.set(None)>
                "No, leave it"
            </button>
            <button type="button" class="key" on:click=move |_| hand.say(&asked.became)>
                "Yes, say that"
            </button>
        </div>
    }
}

#[component]
fn Panel(hand: Hand) -> impl IntoView {
    view! {
        <section aria-labelledby="holes-now">
            <Numbers hand=hand />
            {move || {
                let view = hand.view()?;
                let at = hand.at.get()?;
                let (fixing, hole) = found(&view, &at)?;
                Some(
                    view! {
                        <h2 id="holes-now">
                            {format!("Hole {} of {}", hole.number, fixing.holes.len())}
                        </h2>
                        {tape(hole)}
                        {figures(fixing, hole)}
                        <p role="status" class="holes-done">{say::holes::done(hole)}</p>
                    },
                )
            }}
            <div class="holes-actions">
                {move || hand.question.get().map(|asked| asking(hand, asked))}
                // Yellow is what is done next: the question, a check that is ready, else this.
                <button
                    type="button"
                    class="key"
                    class:main=move || !hand.checking.get() && hand.question.with(Option::is_none)
                    on:click=move |_| hand.keep("")
                >
                    "Drilled as asked"
                </button>
                <label class="holes-became">
                    <span>"Or what it became"</span>
                    <input
                        id="holes-became"
                        type="text"
                        autocomplete="off"
                        prop:value=move || hand.became.get()
                        on:input=move |e| hand.became.set(event_target_value(&e))
                    />
                </label>
                <button
                    type="button"
                    class="key"
                    aria-disabled=move || hand.became.with(|b| b.trim().is_empty()).to_string()
                    on:click=move |_| {
                        let words = hand.became.get_untracked();
                        if !words.trim().is_empty() {
                            hand.keep(&words);
                        }
                    }
                >
                    "Keep that"
                </button>
            </div>
            {move || {
                let view = hand.view()?;
                let at = hand.at.get()?;
                let (fixing, hole) = found(&view, &at)?;
                Some(further(fixing, hole))
            }}
            <Check hand=hand />
            <p class="holes-caution">"Nothing is tapped on a tablet while a tool runs"</p>
        </section>
    }
}

#[component]
fn Notes(hand: Hand) -> impl IntoView {
    view! {
        <section class="holes-notes" aria-labelledby="holes-notes">
            <h2 id="holes-notes">"Will the bolts enter?"</h2>
            {move || {
                fixing_in_hand(hand)
                    .map(|fixing| {
                        let chances = fixing
                            .chances
                            .iter()
                            .map(|c| {
                                view! {
                                    <tr>
                                        <th scope="row">{say::job::capital(&c.method)}</th>
                                        <td>{say::holes::off_by(c)}</td>
                                        <td class="figure">{percent(c.chance)}</td>
                                        <td>{c.enough.then_some("the least trouble that is enough")}</td>
                                    </tr>
                                }
                            })
                            .collect_view();
                        let sure = fixing.holes.first().map(say::holes::sure);
                        view! {
                            <table class="seat-table">
                                <thead>
                                    <tr>
                                        <th scope="col">"How the holes are made"</th>
                                        <th scope="col">"The worst hole may be off"</th>
                                        <th scope="col">"All bolts enter"</th>
                                        <th scope="col"></th>
                                    </tr>
                                </thead>
                                <tbody>{chances}</tbody>
                            </table>
                            <p>{fixing.aim.clone()}</p>
                            <p>{sure}</p>
                            {fixing
                                .notes
                                .iter()
                                .filter(|n| !fixing.near.contains(n))
                                .map(|n| view! { <p>{n.clone()}</p> })
                                .collect_view()}
                        }
                    })
            }}
            <p class="second">{DEFERS}</p>
        </section>
    }
}
