//! A face in space that can be turned, opened by a key. Everything it shows is in the flat drawing too:
//! where the browser can't draw it, nothing is missing.

mod canvas;
mod turn;

use crate::say::job::capital;
use crate::state::{Book, Session, session};
use crate::widgets::looked::Looked;
use canvas::{Board, Colours, Scene};
use leptos::ev;
use leptos::html::Canvas;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::PointRef;
use samespot_core::prepare::solid::{Look, SolidOf, SolidView};
use std::sync::Arc;
use turn::{Named, Stance};

/// A pointer that went less far than this tapped, CSS pixels.
const TAP: f64 = 10.0;
/// A press of a key turns by this, radians.
const STEP: f64 = 0.17;
/// A press of a key, or a notch of a wheel, brings it nearer by this.
const NEARER: f64 = 1.25;

const HINT: &str = "Drag to turn it, pinch or wheel to come nearer, two fingers to move it. Tap a mark for its name";
const CANNOT: &str = "This browser can’t draw a face to be turned. Nothing is missing: the flat drawing has everything";
const LOST: &str = "The browser took this picture’s memory away. It comes back by itself; the flat drawing has everything meanwhile";

/// What came to be turned: the view, and its corners as they are handed to the browser.
#[derive(Debug, Clone, PartialEq)]
struct Solid {
    view: SolidView,
    bytes: Vec<u8>,
}

/// How the browser takes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Drawing {
    Fine,
    Cannot,
    Lost,
}

/// What is in hand. A handle; copies are the same.
#[derive(Clone, Copy)]
struct Hand {
    looked: RwSignal<Looked<Solid>>,
    stance: RwSignal<Stance>,
    /// CSS pixels.
    room: RwSignal<[f64; 2]>,
    /// The name that was tapped.
    picked: RwSignal<Option<usize>>,
    drawing: RwSignal<Drawing>,
    node: NodeRef<Canvas>,
    board: StoredValue<Option<Board>, LocalStorage>,
    /// Fingers on it: which, where, and where they began.
    fingers: StoredValue<Vec<(i32, [f64; 2])>>,
    /// How far the first of them went; a tap goes nowhere.
    went: StoredValue<f64>,
    /// It will be drawn with the next frame.
    due: StoredValue<bool>,
}

fn named(view: &SolidView) -> Vec<Named<'_>> {
    view.names
        .iter()
        .map(|n| Named {
            words: &n.words,
            at_mm: n.at_mm,
            outward: n.outward,
        })
        .collect()
}

fn about([x, y]: [f64; 2], [to_x, to_y]: [f64; 2]) -> f64 {
    (to_x - x).hypot(to_y - y)
}

impl Hand {
    fn new() -> Self {
        Self {
            looked: RwSignal::new(Looked::Working),
            stance: RwSignal::new(Stance::FIRST),
            room: RwSignal::new([0.0; 2]),
            picked: RwSignal::new(None),
            drawing: RwSignal::new(Drawing::Fine),
            node: NodeRef::new(),
            board: StoredValue::new_local(None),
            fingers: StoredValue::new(Vec::new()),
            went: StoredValue::new(0.0),
            due: StoredValue::new(false),
        }
    }

    fn solid(&self) -> Option<Arc<Solid>> {
        self.looked.get().view()
    }

    /// Asks for it again whenever what it is of, or the job, is another.
    fn look(self, of: Signal<Option<SolidOf>>) {
        let session = session();
        let asked = StoredValue::new(0_u32);
        Effect::new(move |before: Option<Option<SolidOf>>| {
            let (of, book) = (of.get(), session.book.get());
            asked.update_value(|n| *n += 1);
            let number = asked.get_value();
            if before.is_some_and(|b| b != of) {
                self.looked.set(Looked::Working);
                self.stance.set(Stance::FIRST);
            }
            self.picked.set(None);
            if let (Some(of), Some(book)) = (of.clone(), book) {
                spawn_local(async move {
                    let came = ask(book, of).await;
                    if asked.try_get_value() == Some(number) {
                        let _ = self.looked.try_set(came);
                    }
                });
            }
            of
        });
    }

    /// Makes the canvas ready and hands it what is known. Done again after the browser took it away.
    fn begin(self) {
        let (Some(canvas), Some(solid)) = (
            self.node.get_untracked(),
            self.looked.get_untracked().view(),
        ) else {
            return;
        };
        let none = self.board.with_value(Option::is_none);
        if none {
            let board = Board::on(&canvas);
            self.drawing.set(match board {
                Some(_) => Drawing::Fine,
                None => Drawing::Cannot,
            });
            self.board.set_value(board);
        }
        self.board.with_value(|board| {
            if let Some(board) = board {
                board.take(solid.view.corners, &solid.bytes);
            }
        });
        self.draw_soon();
    }

    /// Draws once for each frame in which something changed.
    fn draw_soon(self) {
        if self.due.try_get_value() == Some(false) {
            self.due.set_value(true);
            request_animation_frame(move || {
                // Nothing is given back where it is still there.
                if self.due.try_set_value(false).is_none() {
                    self.draw();
                }
            });
        }
    }

    fn draw(&self) {
        let (Some(canvas), Some(solid)) = (
            self.node.get_untracked(),
            self.looked.get_untracked().view(),
        ) else {
            return;
        };
        let room = canvas::room(&canvas);
        let was = self.room.get_untracked();
        if about(room, was) > 0.01 {
            self.room.set(room);
        }
        let scene = Scene {
            parts: &solid.view.parts,
            reach_mm: solid.view.reach.mm(),
            stance: self.stance.get_untracked(),
            room,
            colours: Colours::of(&canvas),
        };
        self.board.with_value(|board| {
            if let Some(board) = board {
                board.draw(&scene);
            }
        });
    }

    fn hold(&self, change: impl FnOnce(Stance, [f64; 2]) -> Stance) {
        let room = self.room.get_untracked();
        self.stance.update(|s| *s = change(*s, room));
    }

    fn down(&self, ev: &ev::PointerEvent) {
        ev.prevent_default();
        if let Some(canvas) = self.node.get_untracked() {
            let _ = canvas.set_pointer_capture(ev.pointer_id());
            let _ = canvas.focus();
        }
        self.went.set_value(0.0);
        let at = place(ev);
        self.fingers.update_value(|f| {
            f.retain(|(id, _)| *id != ev.pointer_id());
            f.push((ev.pointer_id(), at));
        });
    }

    fn moved(&self, ev: &ev::PointerEvent) {
        let now = place(ev);
        let fingers = self.fingers.get_value();
        let Some((_, before)) = fingers.iter().find(|(id, _)| *id == ev.pointer_id()) else {
            return;
        };
        let by = [now[0] - before[0], now[1] - before[1]];
        self.went.update_value(|w| *w += by[0].hypot(by[1]));
        match fingers.as_slice() {
            [_] if ev.shift_key() => self.hold(|s, _| s.moved(by)),
            [_] => self.hold(|s, room| s.dragged(by, room)),
            [(first, a), (_, b), ..] => {
                let other = if *first == ev.pointer_id() { *b } else { *a };
                let (was, is) = (about(other, *before), about(other, now));
                let middle = [0, 1].map(|k| f64::midpoint(other[k], now[k]));
                // Each of two fingers moves the middle between them by half of its own way.
                self.hold(|s, room| {
                    let s = s.moved(by.map(|x| x / 2.0));
                    if was > 1.0 {
                        s.nearer(is / was, middle, room)
                    } else {
                        s
                    }
                });
            }
            [] => {}
        }
        self.fingers.update_value(|f| {
            for (id, at) in f.iter_mut() {
                if *id == ev.pointer_id() {
                    *at = now;
                }
            }
        });
    }

    fn up(&self, ev: &ev::PointerEvent, on_pick: Callback<PointRef>) {
        let alone = self.fingers.with_value(|f| f.len() == 1);
        self.lift(ev);
        if !alone || self.went.get_value() > TAP {
            return;
        }
        let Some(solid) = self.looked.get_untracked().view() else {
            return;
        };
        let (stance, room) = (self.stance.get_untracked(), self.room.get_untracked());
        let names = named(&solid.view);
        let picked = turn::meant(&names, place(ev), stance, solid.view.reach.mm(), room);
        self.picked.set(picked);
        let point = picked.and_then(|k| solid.view.names.get(k)?.point.clone());
        if let Some(point) = point {
            let _ = on_pick.try_run(point);
        }
    }

    fn lift(&self, ev: &ev::PointerEvent) {
        self.fingers
            .update_value(|f| f.retain(|(id, _)| *id != ev.pointer_id()));
    }

    fn wheel(&self, ev: &ev::WheelEvent) {
        ev.prevent_default();
        let at = [ev.offset_x(), ev.offset_y()].map(f64::from);
        let by = if ev.delta_y() > 0.0 {
            1.0 / NEARER
        } else {
            NEARER
        };
        self.hold(|s, room| s.nearer(by, at, room));
    }

    fn nearer(&self, by: f64) {
        self.hold(|s, room| s.nearer(by, room.map(|x| x / 2.0), room));
    }

    fn key(&self, ev: &ev::KeyboardEvent) {
        let by = |x: f64, y: f64| self.hold(|s, _| s.at(s.around + x * STEP, s.over + y * STEP));
        match ev.key().as_str() {
            "ArrowLeft" => by(-1.0, 0.0),
            "ArrowRight" => by(1.0, 0.0),
            "ArrowUp" => by(0.0, -1.0),
            "ArrowDown" => by(0.0, 1.0),
            "+" | "=" => self.nearer(NEARER),
            "-" => self.nearer(1.0 / NEARER),
            "Home" => self.stance.set(Stance::STRAIGHT),
            _ => return,
        }
        ev.prevent_default();
    }
}

fn place(ev: &ev::PointerEvent) -> [f64; 2] {
    [ev.offset_x(), ev.offset_y()].map(f64::from)
}

async fn ask(book: Arc<Book>, of: SolidOf) -> Looked<Solid> {
    let job = book.id().clone();
    match Session::ask(book, Ask::Solid { job, of }).await {
        Ok((Reply::Solid(view), bytes)) => Looked::View(Arc::new(Solid { view: *view, bytes })),
        Ok(_) => Looked::Working,
        Err(sentence) => Looked::Cannot(capital(&sentence)),
    }
}

/// The key, and once it is pressed the face to be turned.
#[component]
pub fn TurnIt(
    /// What it is of; without it the key is not there.
    #[prop(into)]
    of: Signal<Option<SolidOf>>,
    /// A mark or a feature was tapped.
    #[prop(into)]
    on_pick: Callback<PointRef>,
) -> impl IntoView {
    let open = RwSignal::new(false);
    view! {
        <Show when=move || of.with(Option::is_some)>
            <div class="solid" class:open=move || open.get()>
                <button
                    type="button"
                    class="key solid-key"
                    aria-expanded=move || if open.get() { "true" } else { "false" }
                    on:click=move |_| open.update(|o| *o = !*o)
                >
                    {move || if open.get() { "Put the turned view away" } else { "Turn it" }}
                </button>
                <Show when=move || open.get()>
                    <Turned of=of on_pick=on_pick />
                </Show>
            </div>
        </Show>
    }
}

#[component]
fn Turned(of: Signal<Option<SolidOf>>, on_pick: Callback<PointRef>) -> impl IntoView {
    let hand = Hand::new();
    hand.look(of);
    Effect::new(move |_| {
        hand.node.track();
        hand.looked.track();
        hand.begin();
    });
    let session = session();
    Effect::new(move |_| {
        hand.stance.track();
        session.shed.track();
        hand.draw_soon();
    });
    let resized = window_event_listener(ev::resize, move |_| hand.draw_soon());
    on_cleanup(move || resized.remove());
    let says = move || match (hand.looked.get(), hand.drawing.get()) {
        (Looked::Working, _) => "The face is being made ready to turn…".to_owned(),
        (Looked::Cannot(why), _) => why,
        (_, Drawing::Cannot) => CANNOT.to_owned(),
        (_, Drawing::Lost) => LOST.to_owned(),
        (Looked::View(solid), Drawing::Fine) => hand
            .picked
            .get()
            .and_then(|k| solid.view.names.get(k).map(|n| capital(&n.more)))
            .unwrap_or_else(|| HINT.to_owned()),
    };
    let here = move || {
        hand.looked.with(|l| matches!(l, Looked::View(_))) && hand.drawing.get() != Drawing::Cannot
    };
    let to = move |around: f64, over: f64| {
        hand.stance.set(Stance::STRAIGHT.at(around, over));
    };
    view! {
        <div class="solid-view">
            <div class="solid-board" class:absent=move || !here()>
                <canvas
                    node_ref=hand.node
                    tabindex="0"
                    role="img"
                    aria-label="The face in space. The arrow keys turn it, plus and minus bring it nearer and further, Home shows it straight on"
                    on:pointerdown=move |e| hand.down(&e)
                    on:pointermove=move |e| hand.moved(&e)
                    on:pointerup=move |e| hand.up(&e, on_pick)
                    on:pointercancel=move |e| hand.lift(&e)
                    on:wheel=move |e| hand.wheel(&e)
                    on:keydown=move |e| hand.key(&e)
                    on:webglcontextlost=move |e: web_sys::Event| {
                        e.prevent_default();
                        hand.board.set_value(None);
                        hand.drawing.set(Drawing::Lost);
                    }
                    on:webglcontextrestored=move |_: web_sys::Event| hand.begin()
                ></canvas>
                <Names hand=hand />
            </div>
            <p class="solid-says" role="status">{says}</p>
            <Show when=here>
                <div class="solid-keys" role="group" aria-label="How it is seen">
                    <button type="button" class="key" on:click=move |_| to(0.0, 0.0)>"Straight on"</button>
                    <button type="button" class="key" on:click=move |_| to(0.0, 1.2)>"From above"</button>
                    <button type="button" class="key" on:click=move |_| to(1.2, 0.0)>"From the left"</button>
                    <button type="button" class="key" on:click=move |_| to(-1.2, 0.0)>"From the right"</button>
                    <button type="button" class="key" on:click=move |_| hand.nearer(NEARER)>"Nearer"</button>
                    <button type="button" class="key" on:click=move |_| hand.nearer(1.0 / NEARER)>"Further"</button>
                </div>
            </Show>
            {move || hand.solid().map(|solid| key(&solid.view))}
        </div>
    }
}

/// The names, over the canvas; only looked at, the canvas takes the taps.
#[component]
fn Names(hand: Hand) -> impl IntoView {
    move || {
        let solid = hand
            .solid()
            .filter(|_| hand.drawing.get() == Drawing::Fine)?;
        let (stance, room) = (hand.stance.get(), hand.room.get());
        let names = named(&solid.view);
        let at = turn::written(&names, stance, solid.view.reach.mm(), room);
        let picked = hand.picked.get();
        let shown = at.into_iter().zip(&solid.view.names).enumerate();
        let all = shown.filter_map(|(k, (at, name))| {
            let [x, y] = at?;
            let by = format!("translate({x:.0}px, {y:.0}px)");
            let mark = matches!(name.point, Some(PointRef::Mark(_)));
            Some(view! {
                <span class="solid-name" class:mark=mark class:picked=picked == Some(k) style:transform=by>
                    {name.words.clone()}
                </span>
            })
        });
        Some(all.collect_view())
    }
}

/// What lines and shades mean, and what is not shown.
fn key(view: &SolidView) -> impl IntoView + use<> {
    let lines = view
        .key
        .iter()
        .map(|k| {
            let look = match k.look {
                Look::Skin => "skin".to_owned(),
                Look::Steps => "steps".to_owned(),
                Look::Mark | Look::Middle => "mark".to_owned(),
                Look::Outline => "outline".to_owned(),
                Look::Lands => "lands".to_owned(),
                Look::Dart => "dart".to_owned(),
                Look::Band => format!("band step-{}", k.step),
            };
            view! { <li><i class=look aria-hidden="true"></i>{k.words.clone()}</li> }
        })
        .collect_view();
    let notes = view
        .notes
        .iter()
        .map(|n| view! { <p class="second">{n.clone()}</p> })
        .collect_view();
    view! {
        <ul class="solid-what">{lines}</ul>
        {notes}
    }
}
