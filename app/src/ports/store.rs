//! What is kept on this device: facts one record each, attachments, cards of jobs, drafts.
//!
//! Everything a transaction writes is asked for in one turn, with strict durability; *saved* is
//! said when the transaction has completed and not before. A connection the browser lost is opened
//! again once.

use samespot_core::write::job::attachment_hash;
use serde::{Deserialize, Serialize};
use std::cell::{Cell, RefCell};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{IdbDatabase, IdbKeyRange, IdbObjectStore, IdbRequest, IdbTransaction};

const NAME: &str = "samespot";
const VERSION: u32 = 1;
const FACTS: &str = "facts";
const ATTACHMENTS: &str = "attachments";
const JOBS: &str = "jobs";
const DRAFTS: &str = "drafts";
const STORES: [&str; 4] = [FACTS, ATTACHMENTS, JOBS, DRAFTS];

/// Why the device does not keep anything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoreError {
    /// No storage at all: a private window, or switched off.
    Refused(String),
    /// There is no room left.
    Full,
    /// Another window holds an older version of the storage open.
    Blocked,
    /// The storage was written by a newer version of the app.
    Newer,
    /// Something else went wrong, in the browser's words.
    Failed(String),
}

/// A job as it stands on the shelf.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Card {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// How many pieces the run has.
    pub pieces: usize,
    /// How many of them have all their sheets printed.
    pub printed: usize,
    /// The number of the newest issue.
    pub issue: u32,
    /// Everything in it is made up.
    pub invented: bool,
    /// It is a quick template.
    pub quick: bool,
    /// Something in it is drilled or cut out; not known of cards kept before this was asked.
    pub drilled: Option<bool>,
    /// How many entries it has.
    pub facts: usize,
    /// When it was last used, ms since 1970.
    pub used: f64,
    /// When it was last copied off this device, ms since 1970; never, where it is nothing.
    pub copied: Option<f64>,
    /// How many entries it had then.
    pub copied_facts: usize,
}

/// A job as it was kept.
#[derive(Debug, Clone, Default)]
pub struct KeptJob {
    /// Its facts, as written.
    pub facts: Vec<String>,
    /// Its attachments by hash.
    pub attachments: Vec<(String, Vec<u8>)>,
}

thread_local! {
    static OPEN: RefCell<Option<IdbDatabase>> = const { RefCell::new(None) };
    /// An open that another window holds up: it settles when that window lets go.
    static HELD_UP: RefCell<Option<js_sys::Promise>> = const { RefCell::new(None) };
    static MADE: Cell<u32> = const { Cell::new(0) };
}

/// How often this page has had to make the storage anew. Where that grows while a job is open, the
/// browser threw away what was kept of it.
#[must_use]
pub fn made() -> u32 {
    MADE.get()
}

fn failed(e: &JsValue) -> StoreError {
    let name = e
        .dyn_ref::<web_sys::DomException>()
        .map(web_sys::DomException::name);
    match name.as_deref() {
        Some("QuotaExceededError") => StoreError::Full,
        Some("SecurityError") => StoreError::Refused(super::said(e)),
        Some("VersionError") => StoreError::Newer,
        _ => StoreError::Failed(super::said(e)),
    }
}

/// A request as a promise. The closures live until one of them was called.
fn settled(request: &IdbRequest) -> js_sys::Promise {
    js_sys::Promise::new(&mut |resolve, reject| {
        let source = request.clone();
        let good = Closure::once_into_js(move || {
            let _ = resolve.call1(
                &JsValue::NULL,
                &source.result().unwrap_or(JsValue::UNDEFINED),
            );
        });
        let source = request.clone();
        let bad = Closure::once_into_js(move |event: web_sys::Event| {
            // The error is told here; unhandled it would also abort the whole page's transaction.
            event.prevent_default();
            let error = source
                .error()
                .ok()
                .flatten()
                .map_or(JsValue::NULL, JsValue::from);
            let _ = reject.call1(&JsValue::NULL, &error);
        });
        request.set_onsuccess(Some(good.unchecked_ref()));
        request.set_onerror(Some(bad.unchecked_ref()));
    })
}

/// A transaction's end as a promise.
fn completed(transaction: &IdbTransaction) -> js_sys::Promise {
    js_sys::Promise::new(&mut |resolve, reject| {
        let good = Closure::once_into_js(move || {
            let _ = resolve.call0(&JsValue::NULL);
        });
        let source = transaction.clone();
        let bad = Closure::once_into_js(move || {
            let error = source.error().map_or(JsValue::NULL, JsValue::from);
            let _ = reject.call1(&JsValue::NULL, &error);
        });
        transaction.set_oncomplete(Some(good.unchecked_ref()));
        transaction.set_onabort(Some(bad.unchecked_ref()));
    })
}

async fn connect() -> Result<IdbDatabase, StoreError> {
    if let Some(open) = OPEN.with_borrow(Clone::clone) {
        return Ok(open);
    }
    if HELD_UP.with_borrow(Option::is_some) {
        return Err(StoreError::Blocked);
    }
    let factory = web_sys::window()
        .ok_or_else(|| StoreError::Refused("no window".into()))?
        .indexed_db()
        .map_err(|e| StoreError::Refused(super::said(&e)))?
        .ok_or_else(|| StoreError::Refused("it has none".into()))?;
    let request = factory
        .open_with_u32(NAME, VERSION)
        .map_err(|e| failed(&e))?;
    let upgrading = request.clone();
    let upgrade = Closure::once_into_js(move || {
        let Ok(result) = upgrading.result() else {
            return;
        };
        let database: IdbDatabase = result.unchecked_into();
        MADE.set(MADE.get() + 1);
        let there = database.object_store_names();
        for store in STORES {
            if !there.contains(store) {
                let _ = database.create_object_store(store);
            }
        }
    });
    request.set_onupgradeneeded(Some(upgrade.unchecked_ref()));
    let blocked = js_sys::Promise::new(&mut |_, reject| {
        let blocked = Closure::once_into_js(move || {
            let _ = reject.call1(&JsValue::NULL, &"blocked".into());
        });
        request.set_onblocked(Some(blocked.unchecked_ref()));
    });
    let opened = settled(&request);
    let either = js_sys::Array::of2(&opened, &blocked);
    match JsFuture::from(js_sys::Promise::race(&either)).await {
        Ok(result) => Ok(take_up(result)),
        Err(e) if e.as_string().as_deref() == Some("blocked") => {
            HELD_UP.set(Some(opened));
            Err(StoreError::Blocked)
        }
        Err(e) => Err(failed(&e)),
    }
}

/// A database that was opened, kept open for what comes next.
fn take_up(result: JsValue) -> IdbDatabase {
    let database: IdbDatabase = result.unchecked_into();
    // Another tab wants a newer version: let it. The next write opens again and is told so.
    let closing = database.clone();
    super::listen(&database, "versionchange", move |_| {
        closing.close();
        forget();
    });
    super::listen(&database, "close", |_| forget());
    OPEN.with_borrow_mut(|o| *o = Some(database.clone()));
    database
}

/// Waits until the window that held up an open has let go; at once where none does.
pub async fn let_go() {
    let Some(opened) = HELD_UP.with_borrow(Clone::clone) else {
        return;
    };
    let came = JsFuture::from(opened).await;
    HELD_UP.set(None);
    if let Ok(result) = came {
        take_up(result);
    }
}

fn forget() {
    OPEN.with_borrow_mut(|o| *o = None);
}

fn begin(database: &IdbDatabase, stores: &[&str], mode: &str) -> Result<IdbTransaction, JsValue> {
    let names: js_sys::Array = stores.iter().map(|s| JsValue::from_str(s)).collect();
    let options = js_sys::Object::new();
    js_sys::Reflect::set(&options, &"durability".into(), &"strict".into())?;
    // web-sys has the durability option only behind its unstable switch.
    let transaction: js_sys::Function =
        js_sys::Reflect::get(database, &"transaction".into())?.dyn_into()?;
    transaction
        .call3(database, &names, &mode.into(), &options)?
        .dyn_into()
}

/// Runs `work` in one transaction, opening the database again once if the connection was lost.
async fn transact<T>(
    stores: &[&str],
    mode: &str,
    work: impl Fn(&IdbTransaction) -> Result<T, JsValue>,
) -> Result<T, StoreError> {
    let mut last = StoreError::Failed("not tried".into());
    for _ in 0..2 {
        let database = match connect().await {
            Ok(database) => database,
            // A browser that lost its storage for a moment may have it again.
            Err(StoreError::Failed(said)) => {
                last = StoreError::Failed(said);
                continue;
            }
            Err(e) => return Err(e),
        };
        let outcome = begin(&database, stores, mode).and_then(|t| match work(&t) {
            Ok(value) => Ok((value, completed(&t))),
            Err(e) => {
                // Or what had been asked for already would be kept without the rest.
                let _ = t.abort();
                Err(e)
            }
        });
        match outcome {
            Err(e) => {
                last = failed(&e);
                forget();
            }
            Ok((value, completed)) => match JsFuture::from(completed).await {
                Ok(_) => return Ok(value),
                Err(e) => {
                    last = failed(&e);
                    if last == StoreError::Full {
                        return Err(last);
                    }
                    forget();
                }
            },
        }
    }
    Err(last)
}

fn store(transaction: &IdbTransaction, name: &str) -> Result<IdbObjectStore, JsValue> {
    transaction.object_store(name)
}

/// All keys that start with `JOB/`.
fn of_job(job: &str) -> Result<JsValue, JsValue> {
    // '0' follows '/' in every order of text.
    IdbKeyRange::bound(&format!("{job}/").into(), &format!("{job}0").into()).map(JsValue::from)
}

/// Tries whether this browser keeps anything at all, and asks it not to throw it away.
///
/// # Errors
/// [`StoreError`]: why not.
pub async fn probe() -> Result<(), StoreError> {
    let key: JsValue = "probe".into();
    transact(&[DRAFTS], "readwrite", |t| {
        store(t, DRAFTS)?.put_with_key(&"probe".into(), &key)?;
        store(t, DRAFTS)?.delete(&key)?;
        Ok(())
    })
    .await?;
    if let Some(w) = web_sys::window()
        && let Ok(asked) = w.navigator().storage().persist()
    {
        let _ = JsFuture::from(asked).await;
    }
    Ok(())
}

/// Keeps facts, attachments and the card of a job, all or nothing. Says whether the device had the job
/// before: another window may have taken it off meanwhile.
///
/// # Errors
/// [`StoreError`]; nothing of it was kept then.
pub async fn keep(
    card: &Card,
    facts: &[String],
    attachments: &[(String, Vec<u8>)],
) -> Result<bool, StoreError> {
    let text = serde_json::to_string(card).map_err(|e| StoreError::Failed(e.to_string()))?;
    let before = transact(&[FACTS, ATTACHMENTS, JOBS], "readwrite", |t| {
        let before = store(t, JOBS)?.get(&card.id.as_str().into())?;
        let into = store(t, FACTS)?;
        for fact in facts {
            // By content: two texts under one name must both be kept, and one text only once.
            let key = format!("{}/{}", card.id, attachment_hash(fact.as_bytes()));
            into.put_with_key(&fact.into(), &key.into())?;
        }
        let into = store(t, ATTACHMENTS)?;
        for (hash, bytes) in attachments {
            let key = format!("{}/{hash}", card.id);
            into.put_with_key(&js_sys::Uint8Array::from(bytes.as_slice()), &key.into())?;
        }
        store(t, JOBS)?.put_with_key(&text.as_str().into(), &card.id.as_str().into())?;
        Ok(before)
    })
    .await?;
    Ok(before.result().is_ok_and(|card| !card.is_undefined()))
}

/// The jobs on this device.
///
/// # Errors
/// [`StoreError`].
pub async fn shelf() -> Result<Vec<Card>, StoreError> {
    let all = transact(&[JOBS], "readonly", |t| store(t, JOBS)?.get_all()).await?;
    let all = js_sys::Array::from(&all.result().map_err(|e| failed(&e))?);
    let mut cards: Vec<Card> = all
        .iter()
        .filter_map(|c| samespot_core::json::read(&c.as_string()?).ok())
        .collect();
    cards.sort_by(|a, b| b.used.total_cmp(&a.used));
    Ok(cards)
}

/// What parts texts that are fetched together: no JSON holds it (RFC 8259: a sign below 20 stands in no
/// text unescaped, and is no white space).
const PARTED_BY: &str = "\u{1e}";
/// So many texts are fetched together.
const TOGETHER: u32 = 10_000;

/// The texts of a list. Each by itself would cost more on the way here than to read it: a large job has a
/// hundred thousand.
fn texts(list: &js_sys::Array) -> Vec<String> {
    let mut all = Vec::new();
    for from in (0..list.length()).step_by(TOGETHER as usize) {
        let some = list.slice(from, from.saturating_add(TOGETHER));
        let joined = String::from(some.join(PARTED_BY));
        let parts: Vec<&str> = joined.split(PARTED_BY).collect();
        if u32::try_from(parts.len()) == Ok(some.length()) {
            all.extend(parts.into_iter().map(str::to_owned));
        } else {
            // Something in it is no JSON.
            all.extend(some.iter().filter_map(|text| text.as_string()));
        }
    }
    all
}

/// A job by its id; nothing where this device has none of that name.
///
/// # Errors
/// [`StoreError`].
pub async fn job(id: &str) -> Result<Option<KeptJob>, StoreError> {
    let (facts, attachments, names) = transact(&[FACTS, ATTACHMENTS], "readonly", |t| {
        let range = of_job(id)?;
        let attachments = store(t, ATTACHMENTS)?;
        Ok((
            store(t, FACTS)?.get_all_with_key(&range)?,
            attachments.get_all_with_key(&range)?,
            attachments.get_all_keys_with_key(&range)?,
        ))
    })
    .await?;
    let list = |r: &IdbRequest| {
        r.result()
            .map(|v| js_sys::Array::from(&v))
            .map_err(|e| failed(&e))
    };
    let facts = texts(&list(&facts)?);
    if facts.is_empty() {
        return Ok(None);
    }
    let attachments = list(&names)?
        .iter()
        .zip(list(&attachments)?.iter())
        .filter_map(|(key, bytes)| {
            let hash = key.as_string()?.rsplit('/').next()?.to_owned();
            Some((hash, js_sys::Uint8Array::new(&bytes).to_vec()))
        })
        .collect();
    Ok(Some(KeptJob { facts, attachments }))
}

/// Takes a job off this device.
///
/// # Errors
/// [`StoreError`].
pub async fn remove(id: &str) -> Result<(), StoreError> {
    transact(&[FACTS, ATTACHMENTS, JOBS, DRAFTS], "readwrite", |t| {
        let range = of_job(id)?;
        store(t, FACTS)?.delete(&range)?;
        store(t, ATTACHMENTS)?.delete(&range)?;
        store(t, JOBS)?.delete(&id.into())?;
        store(t, DRAFTS)?.delete(&id.into())?;
        store(t, DRAFTS)?.delete(&range)?;
        Ok(())
    })
    .await
}

/// Keeps the card of a job alone.
///
/// # Errors
/// [`StoreError`].
pub async fn keep_card(card: &Card) -> Result<(), StoreError> {
    keep(card, &[], &[]).await.map(drop)
}

/// Keeps what is being typed, or lets go of it.
///
/// # Errors
/// [`StoreError`].
pub async fn keep_draft(name: &str, text: Option<&str>) -> Result<(), StoreError> {
    transact(&[DRAFTS], "readwrite", |t| {
        let drafts = store(t, DRAFTS)?;
        match text {
            Some(text) => drafts.put_with_key(&text.into(), &name.into())?,
            None => drafts.delete(&name.into())?,
        };
        Ok(())
    })
    .await
}

/// What was being typed.
///
/// # Errors
/// [`StoreError`].
pub async fn draft(name: &str) -> Result<Option<String>, StoreError> {
    let found = transact(&[DRAFTS], "readonly", |t| {
        store(t, DRAFTS)?.get(&name.into())
    })
    .await?;
    Ok(found.result().map_err(|e| failed(&e))?.as_string())
}
