//! A face from a scan: the file, its unit, the marks picked on it, and the face made of it.

use super::hand::Hand;
use super::scan_model::{
    self as model, Came, Fitted, Opened, PICTURE, Pick, Place, Seen, Side, TURN, UNITS, UPS,
};
use crate::ports::{files, pointer, worker};
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::{FaceId, FaceShape};
use samespot_core::write::job::attachment_hash;
use std::sync::Arc;

/// The scan in hand. A handle; copies are the same.
#[derive(Clone, Copy)]
struct InHand {
    name: RwSignal<String>,
    bytes: StoredValue<Arc<Vec<u8>>>,
    opened: RwSignal<Option<Opened>>,
    unit: RwSignal<String>,
    up: RwSignal<String>,
    side: RwSignal<Side>,
    picks: RwSignal<Vec<Pick>>,
    /// Which of them is picked next.
    next: RwSignal<usize>,
    /// Address of the picture, and where the picks are in it.
    picture: RwSignal<Option<(String, Vec<Seen>)>>,
    asked: StoredValue<u32>,
    busy: RwSignal<String>,
    /// Somebody stopped what it was busy with.
    stopped: StoredValue<bool>,
    trouble: RwSignal<Option<String>>,
    made: RwSignal<Vec<String>>,
    smooth: Typing,
}

impl InHand {
    fn new() -> Self {
        Self {
            name: RwSignal::new(String::new()),
            bytes: StoredValue::new(Arc::default()),
            opened: RwSignal::new(None),
            unit: RwSignal::new(String::new()),
            up: RwSignal::new("z".into()),
            side: RwSignal::new(Side::default()),
            picks: RwSignal::new(Vec::new()),
            next: RwSignal::new(0),
            picture: RwSignal::new(None),
            asked: StoredValue::new(0),
            busy: RwSignal::new(String::new()),
            stopped: StoredValue::new(false),
            trouble: RwSignal::new(None),
            made: RwSignal::new(Vec::new()),
            smooth: Typing::new(None),
        }
    }

    /// Asks the module; a module that was started anew is given the scan again first.
    async fn ask(self, request: String) -> Result<(Came, Vec<u8>), String> {
        let once = |request: String, bytes: Option<Arc<Vec<u8>>>| async move {
            let bytes = bytes.as_ref().map(|b| b.as_slice());
            let (json, made) = worker::on_demand(worker::Module::Scans, &request, bytes)
                .await
                .map_err(|why| why.of("scan reader", worker::TooLarge::SCAN))?;
            match samespot_core::json::read(&json) {
                Ok(Came::Refused { sentence }) => Err(crate::say::job::capital(&sentence)),
                Ok(came) => Ok((came, made)),
                Err(e) => Err(format!("The answer was not understood: {e}")),
            }
        };
        match once(request.clone(), None).await? {
            (Came::Gone, _) => {
                let bytes = self.bytes.try_get_value().unwrap_or_default();
                once(r#"{"do":"open"}"#.into(), Some(bytes)).await?;
                once(request, None).await
            }
            came => Ok(came),
        }
    }

    /// Stops reading, or making the face. Other questions to that worker are asked again by themselves;
    /// the scan is handed over again when it is next wanted.
    fn stop(self) {
        self.stopped.set_value(true);
        worker::break_off(worker::Line::Sheets);
    }

    /// What is said once it was stopped; why nothing came of it otherwise.
    fn trouble_with(self, why: String) {
        let stopped = self.stopped.try_update_value(core::mem::take) == Some(true);
        self.trouble.set(Some(if stopped {
            "Stopped. Nothing was changed: choose the scan again, or go on without one".into()
        } else {
            why
        }));
    }

    fn open(self, file: files::Picked) {
        self.trouble.set(None);
        self.opened.set(None);
        self.show(None);
        self.made.set(Vec::new());
        self.stopped.set_value(false);
        self.busy.set("Reading the scan…".into());
        let busy = self.busy;
        // An answer that came meanwhile leaves nothing to be told.
        worker::tell_how_far(move |says| {
            if busy.try_get_untracked().is_some_and(|b| !b.is_empty()) {
                let _ = busy.try_set(says);
            }
        });
        spawn_local(async move {
            let read = async {
                let file = files::read(&file).await?;
                self.name.set(file.name);
                self.bytes.set_value(Arc::new(file.bytes));
                let bytes = self.bytes.get_value();
                let (json, _) =
                    worker::on_demand(worker::Module::Scans, r#"{"do":"open"}"#, Some(&bytes))
                        .await
                        .map_err(|why| why.of("scan reader", worker::TooLarge::SCAN))?;
                samespot_core::json::read(&json).map_err(|e| e.to_string())
            };
            let came: Result<Came, String> = read.await;
            if self.busy.try_set(String::new()).is_some() {
                return;
            }
            match came {
                Ok(Came::Read(opened)) => {
                    self.unit.set(opened.unit.clone().unwrap_or_default());
                    self.side.set(Side::default());
                    self.picks.update(|all| {
                        for p in all {
                            (p.at, p.toward) = (None, None);
                        }
                    });
                    self.next.set(0);
                    self.opened.set(Some(opened));
                    self.look();
                }
                Ok(Came::Refused { sentence }) => {
                    self.trouble.set(Some(crate::say::job::capital(&sentence)));
                }
                Ok(_) => {}
                Err(why) => self.trouble_with(why),
            }
        });
    }

    fn show(self, picture: Option<(String, Vec<Seen>)>) {
        if let Some(Some((old, _))) = self.picture.try_update(|p| core::mem::replace(p, picture)) {
            files::release(&old);
        }
    }

    /// A new picture from where one stands now.
    fn look(self) {
        self.asked.update_value(|n| *n += 1);
        let number = self.asked.get_value();
        let marks: Vec<Place> = self
            .picks
            .with_untracked(|all| all.iter().filter_map(|p| p.at).collect());
        let up = model::up_of(&self.up.get_untracked());
        let request = model::ask_view(self.side.get_untracked(), up, &marks);
        spawn_local(async move {
            let came = self.ask(request).await;
            if self.asked.try_get_value() != Some(number) {
                return;
            }
            match came {
                Ok((Came::View { marks }, png)) => {
                    let picture = files::address(&png, "image/png").map(|a| (a, marks));
                    self.show(picture);
                }
                Ok(_) => {}
                Err(why) => self.trouble.set(Some(why)),
            }
        });
    }

    fn moved(self, change: impl FnOnce(&mut Side)) {
        self.side.update(change);
        self.look();
    }

    /// Puts the mark in hand where somebody says, and takes the next one in hand.
    fn put(self, at: Place, toward: Option<Place>) {
        let next = self.next.get_untracked();
        self.trouble.set(None);
        self.picks.update(|all| {
            if let Some(p) = all.get_mut(next) {
                (p.at, p.toward) = (Some(at), toward);
            }
        });
        let free = self
            .picks
            .with_untracked(|all| all.iter().position(|p| p.at.is_none()));
        if let Some(free) = free {
            self.next.set(free);
        }
        self.look();
    }

    fn pick(self, at: [f64; 2]) {
        let up = model::up_of(&self.up.get_untracked());
        let request = model::ask_pick(self.side.get_untracked(), up, at);
        spawn_local(async move {
            match self.ask(request).await {
                Ok((Came::Picked { at, toward }, _)) => self.put(at, Some(toward)),
                Ok((Came::Missed, _)) => drop(self.trouble.try_set(Some(
                    "Nothing of the scan is there: tap on its surface".into(),
                ))),
                Ok(_) => {}
                Err(why) => drop(self.trouble.try_set(Some(why))),
            }
        });
    }

    /// What is still to be done before a face can be made.
    fn missing(self) -> Option<&'static str> {
        let picked = self
            .picks
            .with(|all| all.iter().filter(|p| p.at.is_some()).count());
        let points = self.picks.with(Vec::len);
        if self.unit.with(String::is_empty) {
            Some("Say which unit it is in")
        } else if points < 3 {
            Some("Add two marks and what has to land there first")
        } else if picked < 3 {
            Some(PICK)
        } else {
            None
        }
    }

    fn make(self, hand: Hand, face: FaceId) {
        let picks = self.picks.get_untracked();
        let up = model::up_of(&self.up.get_untracked());
        let unit = self.unit.get_untracked();
        let smooth_mm = self.smooth.entry_now().map(|e| e.mm.mm());
        let request = model::ask_fit(&picks, up, &unit, smooth_mm);
        self.trouble.set(None);
        self.made.set(Vec::new());
        self.stopped.set_value(false);
        self.busy.set("Making the face…".into());
        spawn_local(async move {
            let came = self.ask(request).await;
            if self.busy.try_set(String::new()).is_some() {
                return;
            }
            match came {
                Ok((Came::Fitted(fitted), patch)) => {
                    self.take(hand, &face, &picks, &fitted, patch, unit);
                }
                Ok(_) => {}
                Err(why) => self.trouble_with(why),
            }
        });
    }

    fn take(
        self,
        hand: Hand,
        face: &FaceId,
        picks: &[Pick],
        fitted: &Fitted,
        patch: Vec<u8>,
        unit: String,
    ) {
        let Some(casting) = hand.pattern() else {
            self.trouble.set(Some(
                "Say first which casting is the approved pattern".into(),
            ));
            return;
        };
        let hash = attachment_hash(&patch);
        let shape = FaceShape::Scan {
            attachment: hash.clone(),
            file: self.name.get_untracked(),
            unit,
        };
        let said = hand.with_job(|j| model::said(j, (face, &casting), &shape, picks, fitted));
        hand.session.say_with(
            &said.unwrap_or_default(),
            core::iter::once((hash, patch)).collect(),
        );
        self.made.set(model::fitted_words(fitted, picks));
    }
}

/// Said while too few places are picked.
const PICK: &str = "Pick at least three places on it";

/// The fields of a face from a scan.
#[component]
pub(super) fn ScanForm(hand: Hand, face: FaceId) -> impl IntoView {
    let scan = InHand::new();
    let id = StoredValue::new(face);
    Effect::new(move |_| {
        let now = hand
            .of_job(|j| id.with_value(|f| model::points(j, f)))
            .unwrap_or_default();
        scan.picks.update(|all| *all = model::kept(all, now));
    });
    let stands = move || {
        hand.of_job(|j| match j.faces.get(&id.get_value())?.shape.as_ref()? {
            FaceShape::Scan { file, unit, .. } => {
                Some(format!("This face is from ‘{file}’, in {unit}"))
            }
            _ => None,
        })
        .flatten()
    };
    Effect::new(move |_| {
        let open = scan.opened.with(Option::is_some);
        let step = match scan.missing() {
            Some(PICK) => "On the scan: pick each mark, and what has to land there, on the picture",
            Some(words) => words,
            None => "On the scan: pick what is left, then make the face",
        };
        hand.scanning.set(open.then_some(step));
    });
    on_cleanup(move || {
        let _ = hand.scanning.try_set(None);
    });
    let accept = files::accept(".stl,.obj,.ply,.3mf,model/stl,model/obj,model/3mf");
    view! {
        <div class="fields">
            {move || stands().map(|words| view! { <p class="setout-done">{words}</p> })}
            <label class="key file">
                {move || if scan.name.with(String::is_empty) { "Choose a scan (STL, OBJ, PLY, 3MF)" } else { "Choose another scan" }}
                <input
                    type="file"
                    accept=accept
                    on:change=move |e| {
                        if let Some(file) = files::chosen(&e) {
                            scan.open(file);
                        }
                    }
                />
            </label>
            <p class="second">
                {move || match scan.opened.get() {
                    Some(o) => format!("{}: {}, {} triangles", scan.name.get(), o.kind, o.triangles),
                    None => "A scan of the approved pattern. It stays on this device; only the part around the marks is kept in the job".into(),
                }}
            </p>
        </div>
        {move || Some(scan.busy.get()).filter(|b| !b.is_empty()).map(|b| view! {
            <div class="job-row">
                <p class="second" role="status">{b}</p>
                <button type="button" class="key" id="scan-stop" on:click=move |_| scan.stop()>"Stop"</button>
            </div>
        })}
        {move || scan.opened.get().map(|opened| view! { <Looked hand=hand scan=scan opened=opened face=id.get_value() /> })}
        {move || scan.trouble.get().map(|why| view! { <p class="why" role="alert">{why}</p> })}
        {move || {
            let made = scan.made.get();
            (!made.is_empty()).then(|| view! {
                <div role="status">
                    <p class="setout-done">"The face is made"</p>
                    <ul class="setout-scan-notes">{made.into_iter().map(|w| view! { <li>{w}</li> }).collect_view()}</ul>
                </div>
            })
        }}
    }
}

#[component]
fn Looked(hand: Hand, scan: InHand, opened: Opened, face: FaceId) -> impl IntoView {
    let sizes = model::sizes(opened.size);
    let ups = UPS
        .iter()
        .map(|(value, label, _)| Choice::words(value, label))
        .collect::<Vec<_>>();
    let notes = opened.notes.clone();
    let unit_mm = move || {
        let unit = scan.unit.get();
        UNITS.iter().find(|u| u.0 == unit).map_or(1.0, |u| u.1)
    };
    let make = move |_| {
        if untrack(|| scan.missing()).is_none() {
            scan.make(hand, face.clone());
        }
    };
    view! {
        {(!notes.is_empty()).then(|| view! {
            <ul class="setout-scan-notes">
                {notes.into_iter().map(|n| view! { <li>{crate::say::job::capital(&n)}</li> }).collect_view()}
            </ul>
        })}
        <div role="group" aria-label="Which unit it is in">
            <p class="legend">"Which of these is its true size?"</p>
            <div class="setout-scan-units">
                {sizes
                    .into_iter()
                    .map(|(unit, words)| view! {
                        <button type="button" class="setout-point"
                            aria-pressed=move || if scan.unit.with(|u| u == unit) { "true" } else { "false" }
                            on:click=move |_| scan.unit.set(unit.to_owned())>
                            {words}
                        </button>
                    })
                    .collect_view()}
            </div>
        </div>
        <Choices
            legend="On the piece, as it stands"
            shown=true
            choices=ups
            taken=scan.up
            take=move |v: String| {
                scan.up.set(v);
                scan.side.set(Side::default());
                scan.look();
            }
        />
        <PicksRow scan=scan />
        <ScanPicture scan=scan />
        <ul class="setout-scan-notes">
            {move || model::apart(&scan.picks.get(), unit_mm()).into_iter().map(|w| view! { <li>{w}</li> }).collect_view()}
        </ul>
        <details class="job-more">
            <summary>"Smoothing"</summary>
            <p class="second">"A scan is rough, and paper bridges what is rough. Detail narrower than this is smoothed away; left empty it follows the scan's own edges"</p>
            <TypedLength id="scan-smooth" label="Smooth over" typing=scan.smooth done=Callback::new(|_| ()) />
        </details>
        <button type="button" id="scan-make" class="key main" on:click=make
            aria-disabled=move || if scan.missing().is_none() { "false" } else { "true" }>
            {move || scan.missing().unwrap_or("Make the face")}
        </button>
    }
}

/// What is picked next, by name; or its place typed.
#[component]
fn PicksRow(scan: InHand) -> impl IntoView {
    let typed = RwSignal::new(String::new());
    let in_hand = move || {
        scan.picks
            .with(|all| all.get(scan.next.get()).map(|p| p.name.clone()))
    };
    let keep = move |_| match model::typed_place(&typed.get_untracked()) {
        Ok(at) => {
            typed.set(String::new());
            scan.put(at, None);
        }
        Err(why) => scan.trouble.set(Some(why)),
    };
    view! {
        <p class="legend">
            {move || match in_hand() {
                Some(name) => format!("Tap the place of {name} on the scan"),
                None => "Add marks below, and what has to land: then pick them here".to_owned(),
            }}
        </p>
        <ul class="setout-points">
            {move || scan.picks.get().into_iter().enumerate().map(|(k, p)| view! {
                <li>
                    <button type="button" class="setout-point"
                        aria-pressed=move || if scan.next.get() == k { "true" } else { "false" }
                        on:click=move |_| scan.next.set(k)>
                        <strong>{p.name}</strong>
                        <span class="second">{if p.at.is_some() { "picked" } else { "not picked yet" }}</span>
                    </button>
                </li>
            }).collect_view()}
        </ul>
        <div class="job-row">
            <label class="job-field">
                <span>"or type its place in the scan"</span>
                <input id="scan-typed" type="text" autocomplete="off" placeholder="x y z" prop:value=move || typed.get()
                    on:input=move |ev| typed.set(event_target_value(&ev)) />
            </label>
            <button type="button" id="scan-typed-keep" class="key" on:click=keep>"Put it there"</button>
        </div>
    }
}

#[component]
fn ScanPicture(scan: InHand) -> impl IntoView {
    let [wide, tall] = PICTURE.map(f64::from);
    let tapped = move |ev: leptos::ev::PointerEvent| {
        if let Some(at) = pointer::place(&ev, wide, tall) {
            scan.pick(at);
        }
    };
    let turn = move |by: f64| move |_| scan.moved(|s| s.turn += by);
    let tilt = move |by: f64| move |_| scan.moved(|s| s.tilt = (s.tilt + by).clamp(-90.0, 90.0));
    let nearer = move |_| {
        let about = scan.picks.with_untracked(|all| {
            let picked: Vec<Place> = all.iter().filter_map(|p| p.at).collect();
            picked.last().copied()
        });
        scan.moved(|s| {
            s.zoom = (s.zoom * 2.0).min(64.0);
            s.centre = about;
        });
    };
    let whole = move |_| {
        scan.moved(|s| {
            s.zoom = 1.0;
            s.centre = None;
        });
    };
    let marks = move || {
        let names: Vec<String> = scan.picks.with(|all| {
            all.iter()
                .filter(|p| p.at.is_some())
                .map(|p| p.name.clone())
                .collect()
        });
        let seen = scan.picture.with(|p| p.as_ref().map(|p| p.1.clone()));
        seen.unwrap_or_default()
            .into_iter()
            .zip(names)
            .filter(|(s, _)| s.in_sight)
            .map(|(s, name)| {
                let [x, y] = s.at;
                view! {
                    <circle cx=format!("{x:.1}") cy=format!("{y:.1}") r="9" />
                    <path d=format!("M{:.1} {y:.1}H{:.1}M{x:.1} {:.1}V{:.1}", x - 14.0, x + 14.0, y - 14.0, y + 14.0) />
                    <text x=format!("{:.1}", x + 14.0) y=format!("{:.1}", y - 12.0)>{name}</text>
                }
            })
            .collect_view()
    };
    view! {
        <svg class="setout-scan" viewBox=format!("0 0 {wide} {tall}") role="img"
            aria-label="The scan. Tap it to put the mark in hand there" on:pointerup=tapped>
            {move || scan.picture.with(|p| p.as_ref().map(|p| p.0.clone())).map(|address| view! {
                <image href=address width=wide height=tall />
            })}
            {marks}
        </svg>
        <div class="job-row" role="group" aria-label="See it from another side">
            <button type="button" class="key" on:click=turn(TURN)>"Turn left"</button>
            <button type="button" class="key" on:click=turn(-TURN)>"Turn right"</button>
            <button type="button" class="key" on:click=tilt(TURN / 2.0)>"From higher"</button>
            <button type="button" class="key" on:click=tilt(-TURN / 2.0)>"From lower"</button>
            <button type="button" class="key" on:click=nearer>"Nearer"</button>
            <button type="button" class="key" on:click=whole>"All of it"</button>
        </div>
    }
}
