//! Questions to the worker that computes beside the page.
//!
//! The worker is a cache that may die: whatever it knew is sent again when it says that it does
//! not know a job. A worker whose module broke is ended and another one started.

use samespot_core::answer::{Answer, Ask, FactTexts, Half, Refusal, Reply, Request};
#[cfg(not(feature = "whole"))]
use samespot_core::answer::{EarlyAnswer, EarlyRequest};
use samespot_core::job::JobId;
use std::cell::RefCell;
use std::collections::BTreeMap;
use wasm_bindgen::{JsCast, JsValue};

mod too_large;

pub use too_large::TooLarge;

/// The worker broke off; the next question starts another one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Broke {
    /// The device refused the memory that it asked for.
    Memory,
    /// For another reason, as the browser says it.
    Off(String),
}

impl Broke {
    /// What a browser says where it could not do what it was told: that memory was refused it says in its own
    /// words, each browser in others.
    fn said(text: String) -> Self {
        if text.to_lowercase().contains("memory") {
            Self::Memory
        } else {
            Self::Off(text)
        }
    }

    /// Why nothing came of a file, by the reader it was given to.
    #[must_use]
    pub fn of(self, reader: &str, what: TooLarge) -> String {
        match self {
            Self::Memory => what.says(),
            Self::Off(why) => {
                format!(
                    "The {reader} could not be loaded or broke off ({why}). Nothing is lost: try again"
                )
            }
        }
    }
}

impl core::fmt::Display for Broke {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Memory => f.write_str("memory was refused"),
            Self::Off(why) => f.write_str(why),
        }
    }
}

/// Which worker. The picture that follows each keystroke has one of its own, so that it never
/// waits for a sheet to be laid out or a run to be looked over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// Templates, files, the run, artwork.
    Sheets,
    /// The picture.
    Picture,
    /// What takes a while and nobody waits for: it is broken off when something else is wanted.
    Apart,
}

#[derive(Default)]
struct Desk {
    worker: Option<web_sys::Worker>,
    waiting: BTreeMap<u64, js_sys::Function>,
    last: u64,
    /// Counts the workers that were started: a new one knows nothing.
    generation: u32,
}

/// Who is told a sentence.
type Tell = Box<dyn Fn(String)>;

thread_local! {
    /// Who is told how far long work has come.
    static FAR: RefCell<Option<Tell>> = const { RefCell::new(None) };
    static SHEETS: RefCell<Desk> = RefCell::new(Desk::default());
    static PICTURE: RefCell<Desk> = RefCell::new(Desk::default());
    static APART: RefCell<Desk> = RefCell::new(Desk::default());
}

fn at<T>(line: Line, work: impl FnOnce(&mut Desk) -> T) -> T {
    match line {
        Line::Sheets => SHEETS.with_borrow_mut(work),
        Line::Picture => PICTURE.with_borrow_mut(work),
        Line::Apart => APART.with_borrow_mut(work),
    }
}

fn script() -> String {
    web_sys::window()
        .and_then(|w| w.document())
        .and_then(|d| {
            d.query_selector("meta[name='samespot-worker']")
                .ok()
                .flatten()
        })
        .and_then(|m| m.get_attribute("content"))
        .unwrap_or_else(|| "worker.js".into())
}

fn start(line: Line) -> Result<web_sys::Worker, JsValue> {
    let options = web_sys::WorkerOptions::new();
    options.set_type(web_sys::WorkerType::Module);
    let worker = web_sys::Worker::new_with_options(&script(), &options)?;
    follow(line, &worker);
    Ok(worker)
}

fn follow(line: Line, worker: &web_sys::Worker) {
    super::listen(worker, "message", move |e| {
        if let Some(e) = e.dyn_ref::<web_sys::MessageEvent>() {
            heard(line, &e.data());
        }
    });
    super::listen(worker, "error", move |e| {
        // A browser that ends a worker for its memory says so here.
        let says = field(&e, "message").and_then(|m| m.as_string());
        let why = match says.map(Broke::said) {
            Some(Broke::Memory) => Broke::Memory,
            _ => Broke::Off("the module could not be loaded".into()),
        };
        give_up(line, &why);
    });
    // An answer that this side had no room to take in.
    super::listen(worker, "messageerror", move |_| {
        give_up(line, &Broke::Memory);
    });
}

fn field(data: &JsValue, name: &str) -> Option<JsValue> {
    js_sys::Reflect::get(data, &name.into())
        .ok()
        .filter(|v| !v.is_undefined() && !v.is_null())
}

fn heard(line: Line, data: &JsValue) {
    if let Some(fault) = field(data, "fault").and_then(|f| f.as_string()) {
        let memory = field(data, "memory").and_then(|m| m.as_bool()) == Some(true);
        let why = if memory {
            Broke::Memory
        } else {
            Broke::Off(fault)
        };
        give_up(line, &why);
        return;
    }
    if let Some(says) = field(data, "progress").and_then(|p| p.as_string()) {
        FAR.with_borrow(|far| {
            if let Some(tell) = far {
                tell(says);
            }
        });
        return;
    }
    let Some(id) = field(data, "id").and_then(|id| id.as_f64()) else {
        return;
    };
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "our own counter"
    )]
    let id = id as u64;
    let waiting = at(line, |d| d.waiting.remove(&id));
    if let (Some(resolve), Some(reply)) = (waiting, field(data, "reply")) {
        let _ = resolve.call1(&JsValue::NULL, &reply);
    }
}

/// Why nothing came, where an answer would have come: a text alone, or nothing at all where memory was
/// refused.
fn instead(why: &Broke) -> JsValue {
    match why {
        Broke::Memory => JsValue::NULL,
        Broke::Off(why) => JsValue::from_str(why),
    }
}

/// Ends a worker; everybody who waits is told.
fn give_up(line: Line, why: &Broke) {
    let waiting = at(line, |d| {
        if let Some(worker) = d.worker.take() {
            worker.terminate();
            d.generation += 1;
        }
        std::mem::take(&mut d.waiting)
    });
    for resolve in waiting.into_values() {
        let _ = resolve.call1(&JsValue::NULL, &instead(why));
    }
}

/// For a module that takes the page over: the workers as they stand, each with the number from
/// which it may count. What is still asked here is still answered here.
#[cfg(not(feature = "whole"))]
pub fn give_away() -> js_sys::Object {
    let given = js_sys::Object::new();
    for (line, name) in LENT {
        let worker = at(line, |d| d.worker.clone());
        if let Some(worker) = worker {
            let _ = js_sys::Reflect::set(&given, &name.into(), &worker);
        }
    }
    given
}

/// Those that are worth handing on: the third is broken off all the time.
const LENT: [(Line, &str); 2] = [(Line::Sheets, "sheets"), (Line::Picture, "picture")];

/// Where a module that was handed its workers begins to count: far beyond the one before it, whose
/// answers may still be on their way.
const FROM: u64 = 1 << 32;

/// Takes over the workers of the module before this one.
pub fn adopt(given: &JsValue) {
    for (line, name) in LENT {
        let Some(worker) = field(given, name) else {
            continue;
        };
        let worker: web_sys::Worker = worker.unchecked_into();
        follow(line, &worker);
        at(line, |d| {
            d.last = FROM;
            d.worker = Some(worker);
        });
    }
}

/// Who is told, from now on, how far long work has come.
pub fn tell_how_far(tell: impl Fn(String) + 'static) {
    FAR.set(Some(Box::new(tell)));
}

/// Which worker it is: after a change nothing told before is known.
#[must_use]
pub fn generation(line: Line) -> u32 {
    at(line, |d| d.generation)
}

/// Who is meant by a message, and whether it tells of a job: a module that takes over from
/// another has to hear that again.
#[derive(Debug, Clone, Copy)]
struct To {
    module: &'static str,
    tells: bool,
}

impl To {
    fn of(ask: &Ask) -> Self {
        Self {
            // The first half reads what a quick template is made of, and no more.
            module: match ask.waits_for() {
                Half::First if cfg!(not(feature = "whole")) => "first",
                _ => "rest",
            },
            tells: matches!(ask, Ask::Facts { .. }),
        }
    }
}

/// Sends a message at once; what comes back is awaited later.
fn send(line: Line, to: To, request: &str, bytes: Option<&js_sys::Uint8Array>) -> js_sys::Promise {
    let message = js_sys::Object::new();
    let set = |name: &str, value: &JsValue| {
        let _ = js_sys::Reflect::set(&message, &name.into(), value);
    };
    let id = at(line, |d| {
        d.last += 1;
        d.last
    });
    #[allow(clippy::cast_precision_loss, reason = "a counter")]
    set("id", &JsValue::from_f64(id as f64));
    set("to", &to.module.into());
    set("tells", &to.tells.into());
    set("request", &request.into());
    if let Some(bytes) = bytes {
        set("bytes", bytes);
    }
    js_sys::Promise::new(&mut |resolve, _| {
        let posted = at(line, |d| -> Result<(), JsValue> {
            let worker = match d.worker.take() {
                Some(worker) => worker,
                None => start(line)?,
            };
            let posted = worker.post_message(&message);
            d.worker = Some(worker);
            posted?;
            d.waiting.insert(id, resolve.clone());
            Ok(())
        });
        if let Err(e) = posted {
            let why = Broke::said(super::said(&e));
            let _ = resolve.call1(&JsValue::NULL, &instead(&why));
        }
    })
}

/// What came back, or why nothing did.
async fn received(sent: js_sys::Promise) -> Result<JsValue, Broke> {
    match wasm_bindgen_futures::JsFuture::from(sent).await {
        Ok(reply) if reply.is_null() => Err(Broke::Memory),
        Ok(reply) => match reply.as_string() {
            Some(why) => Err(Broke::Off(why)),
            None => Ok(reply),
        },
        Err(e) => Err(Broke::Off(super::said(&e))),
    }
}

#[cfg(feature = "whole")]
fn written(request: Request) -> Result<String, Broke> {
    serde_json::to_string(&request).map_err(|e| Broke::Off(e.to_string()))
}

#[cfg(not(feature = "whole"))]
fn written(request: Request) -> Result<String, Broke> {
    let early = EarlyRequest::of(request)
        .ok_or_else(|| Broke::Off("this is asked by the part that is loaded later".into()))?;
    serde_json::to_string(&early).map_err(|e| Broke::Off(e.to_string()))
}

#[cfg(feature = "whole")]
fn read(json: &str) -> Result<Answer, Broke> {
    samespot_core::json::read(json).map_err(|e| Broke::Off(e.to_string()))
}

#[cfg(not(feature = "whole"))]
fn read(json: &str) -> Result<Answer, Broke> {
    let early = samespot_core::json::read::<EarlyAnswer>(json);
    early
        .map(Answer::from)
        .map_err(|e| Broke::Off(e.to_string()))
}

/// One question to core, posted at once, without sending facts again.
pub fn put(line: Line, ask: Ask) -> impl Future<Output = Result<Answer, Broke>> {
    let answered = put_beside(line, ask, None);
    async move { answered.await.map(with_bytes) }
}

fn with_bytes((mut answer, bytes): (Answer, js_sys::Uint8Array)) -> Answer {
    answer.bytes = bytes.to_vec();
    answer
}

/// The same with something beside the question; what stands beside the answer is left where it is.
fn put_beside(
    line: Line,
    ask: Ask,
    beside: Option<&js_sys::Uint8Array>,
) -> impl Future<Output = Result<(Answer, js_sys::Uint8Array), Broke>> + use<> {
    let number = at(line, |d| d.last + 1);
    let to = To::of(&ask);
    let request = written(Request { number, ask });
    let sent = request.map(|request| send(line, to, &request, beside));
    async move {
        let reply = received(sent?).await?;
        let json = field(&reply, "json").and_then(|j| j.as_string());
        let json = json.ok_or_else(|| Broke::Off("an answer without words".into()))?;
        let bytes = field(&reply, "bytes").unwrap_or(JsValue::UNDEFINED);
        Ok((read(&json)?, js_sys::Uint8Array::new(&bytes)))
    }
}

/// Everything the worker needs to know of a job before it can answer about it.
#[derive(Debug, Clone)]
pub struct Brief {
    /// The job.
    pub job: JobId,
    /// Its facts.
    pub facts: FactTexts,
    /// Its attachments by hash, base-64.
    pub attachments: Vec<(String, String)>,
}

/// Tells a worker facts, posted at once.
///
/// # Errors
/// [`Broke`], also when the worker did not understand them.
pub fn tell(line: Line, brief: Brief) -> impl Future<Output = Result<(), Broke>> {
    let Brief {
        job,
        facts,
        attachments,
    } = brief;
    let ask = Ask::Facts {
        job,
        facts: Vec::new(),
        attachments,
    };
    let beside = js_sys::Uint8Array::from(facts.as_bytes());
    let answer = put_beside(line, ask, Some(&beside));
    async move {
        match answer.await?.0.says {
            Ok(_) => Ok(()),
            Err(Refusal::CannotDo { sentence }) => Err(Broke::Off(sentence)),
            Err(Refusal::UnknownJob) => Err(Broke::Off("facts of an unknown job".into())),
        }
    }
}

/// Asks, with `news` that the worker was not told yet, and sends the whole job where it turns out not to
/// know it. All of it is posted at once: the question need not wait for word that the facts came in.
///
/// # Errors
/// [`Broke`] when the worker broke off twice.
pub fn ask(
    line: Line,
    ask: Ask,
    news: Option<Brief>,
    brief: impl FnOnce() -> Brief,
) -> impl Future<Output = Result<Answer, Broke>> {
    let answered = ask_beside(line, ask, None, news, brief);
    async move { answered.await.map(with_bytes) }
}

/// The same with something beside the question; what stands beside the answer is left where it is.
///
/// # Errors
/// As [`ask`].
pub fn ask_beside(
    line: Line,
    ask: Ask,
    beside: Option<js_sys::Uint8Array>,
    news: Option<Brief>,
    brief: impl FnOnce() -> Brief,
) -> impl Future<Output = Result<(Answer, js_sys::Uint8Array), Broke>> {
    let told = news.map(|news| tell(line, news));
    let first = put_beside(line, ask.clone(), beside.as_ref());
    async move {
        if let Some(told) = told
            && let Err(why) = told.await
        {
            super::warn(&why.to_string());
        }
        match first.await {
            Ok(answer) if answer.0.says != Err(Refusal::UnknownJob) => return Ok(answer),
            Ok(_) => {}
            Err(why) => super::warn(&why.to_string()),
        }
        tell(line, brief()).await?;
        put_beside(line, ask, beside.as_ref()).await
    }
}

/// Breaks off what a worker is at, where it is at something: its answer is no longer wanted.
pub fn break_off(line: Line) {
    if at(line, |d| !d.waiting.is_empty()) {
        give_up(line, &Broke::Off("another question came".into()));
    }
}

/// The reply, or the sentence that stands in its place; `what` says what was too large where memory was
/// refused.
///
/// # Errors
/// That sentence.
pub fn sentence(answer: Result<Answer, Broke>, what: TooLarge) -> Result<(Reply, Vec<u8>), String> {
    match answer {
        Ok(Answer {
            says: Ok(reply),
            bytes,
            ..
        }) => Ok((reply, bytes)),
        Ok(Answer {
            says: Err(Refusal::CannotDo { sentence }),
            ..
        }) => Err(sentence),
        Ok(Answer {
            says: Err(Refusal::UnknownJob),
            ..
        }) => Err("The job could not be handed over to be computed: load the page again".into()),
        Err(Broke::Memory) => Err(what.says()),
        Err(Broke::Off(why)) => Err(format!(
            "The computation broke off ({why}). Nothing is lost: try again"
        )),
    }
}

/// A module that is loaded the first time something is asked of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Module {
    /// Reads artwork; holds nothing.
    Artwork,
    /// Reads scans; holds the last one while its worker lives.
    Scans,
}

/// Asks one of them.
///
/// # Errors
/// [`Broke`], when it could not be loaded or broke off.
pub async fn on_demand(
    module: Module,
    request: &str,
    bytes: Option<&[u8]>,
) -> Result<(String, Vec<u8>), Broke> {
    let bytes = bytes.map(js_sys::Uint8Array::from);
    let to = To {
        module: match module {
            Module::Artwork => "artwork",
            Module::Scans => "scans",
        },
        tells: false,
    };
    let reply = received(send(Line::Sheets, to, request, bytes.as_ref())).await?;
    let json = field(&reply, "json").and_then(|j| j.as_string());
    let json = json.ok_or_else(|| Broke::Off("an answer without words".into()))?;
    let bytes = field(&reply, "bytes").map(|b| js_sys::Uint8Array::new(&b).to_vec());
    Ok((json, bytes.unwrap_or_default()))
}
