//! What stands in fields and has not been said yet: kept on the device while it is typed, and back in
//! its fields when the page was killed meanwhile.
//!
//! A field counts by its name, its label and the address it is at. Its text is let go of once the field
//! holds something else (it was kept, or emptied), is gone, or somebody went elsewhere. It is put back
//! only into a field that holds what it held before anybody typed: what the job says by now comes first.

use super::Session;
use crate::ports::open_fields::{self, Happened, Touched};
use crate::ports::{address, clock, store};
use crate::route::Route;
use leptos::prelude::*;
use leptos::task::spawn_local;
use serde::{Deserialize, Serialize};

/// After this pause in typing it is written down, ms.
const PAUSE_MS: i32 = 200;
/// So long after a tap the fields show what it did, ms.
const AFTER_MS: i32 = 400;
/// And after that again, ms.
const LATER_MS: i32 = 3_000;
/// A screen that is opened is looked through so often for fields to put text back into.
const LOOKS: u32 = 20;
/// More fields than any screen has.
const MOST: usize = 60;

/// A text in a field.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Unsaid {
    id: String,
    label: String,
    /// What stood there before.
    was: String,
    text: String,
    /// It waits to be put back.
    #[serde(skip)]
    waits: bool,
}

/// The texts of one screen, in the order they were last typed at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct AtHand {
    address: String,
    all: Vec<Unsaid>,
    /// What stood in the field the cursor is in when it came there.
    entered: Option<Touched>,
    /// Put back and not typed at since: the browser will not say of itself that they are left.
    put_back: Vec<String>,
    written: u32,
    looked: u32,
}

impl AtHand {
    /// A key of the page put `text` into a field, which holds what is in `before`.
    fn put_in(&mut self, before: Touched, text: &str) {
        let now = Touched {
            text: text.to_owned(),
            ..before.clone()
        };
        self.entered = Some(before);
        self.typed(now);
    }

    fn typed(&mut self, now: Touched) {
        let earlier = self
            .all
            .iter()
            .position(|u| u.id == now.id && u.label == now.label);
        let was = match (earlier.map(|n| self.all.remove(n)), &self.entered) {
            (Some(u), _) => u.was,
            (None, Some(entered)) if entered.id == now.id => entered.text.clone(),
            (None, _) => String::new(),
        };
        if was != now.text {
            self.all.push(Unsaid {
                id: now.id,
                label: now.label,
                was,
                text: now.text,
                waits: false,
            });
        }
        let over = self.all.len().saturating_sub(MOST);
        self.all.drain(..over);
    }

    /// Lets go of what fields no longer hold. Says whether anything is another now.
    fn let_go(&mut self, now: impl Fn(&str) -> Option<Touched>) -> bool {
        let mut other = false;
        self.all.retain_mut(|u| {
            let Some(field) = now(&u.id).filter(|_| !u.waits) else {
                other |= !u.waits;
                return u.waits;
            };
            if field.text == u.text {
                return true;
            }
            other = true;
            // A key of the page's own put a sign behind it.
            let longer = field.text.starts_with(&u.text);
            u.text = field.text;
            longer
        });
        other
    }

    /// What can be put back now. What the job has changed meanwhile is let go of.
    fn put_back(&mut self, now: impl Fn(&str) -> Option<Touched>) -> Vec<Unsaid> {
        let mut back = Vec::new();
        self.all.retain_mut(|u| {
            let Some(field) = now(&u.id).filter(|f| u.waits && f.label == u.label) else {
                return true;
            };
            if field.text != u.was {
                return false;
            }
            u.waits = false;
            back.push(u.clone());
            true
        });
        back
    }
}

fn here() -> Option<(String, String)> {
    let route = address::here();
    // The cards look after what is typed on them.
    if matches!(route, Route::Quick { .. }) {
        return None;
    }
    let address = route.address();
    let name = format!("{}/typed/{address}", route.job()?);
    Some((address, name))
}

impl Session {
    /// Keeps what is being typed, and puts it back.
    pub(super) fn keep_unsaid(self) {
        open_fields::follow(move |happened| match happened {
            Happened::Entered(field) => self.unsaid.update_value(|u| u.entered = Some(field)),
            Happened::Typed(field) => {
                if let Some((address, _)) = here() {
                    self.leave_for(&address);
                    self.unsaid.update_value(|u| u.typed(field));
                    self.write_unsaid();
                }
            }
            Happened::Changed(id) => self
                .unsaid
                .update_value(|u| u.put_back.retain(|b| *b != id)),
            Happened::Left(id) => {
                let silent = self
                    .unsaid
                    .try_update_value(|u| {
                        let before = u.put_back.len();
                        u.put_back.retain(|b| *b != id);
                        before != u.put_back.len()
                    })
                    .unwrap_or_default();
                if silent {
                    open_fields::say_changed(&id);
                }
                self.look_soon();
            }
            Happened::Done => self.look_soon(),
        });
        Effect::new(move |_| {
            self.route.track();
            let there = self.book.with(Option::is_some);
            if let Some((address, name)) = here().filter(|_| there) {
                self.fetch_unsaid(address, name);
            }
        });
    }

    /// A key of the page's own is about to put a text into a field: it is kept like one that is typed,
    /// of which the browser tells.
    pub fn typed_by_key(self, id: &str, text: &str) {
        let (Some((address, _)), Some(before)) = (here(), open_fields::now(id)) else {
            return;
        };
        self.leave_for(&address);
        self.unsaid.update_value(|u| u.put_in(before, text));
        self.write_unsaid();
    }

    /// Another screen is at hand: what stood on the one before is let go of.
    fn leave_for(self, address: &str) {
        let left = self.unsaid.try_update_value(|u| {
            if u.address == address {
                return None;
            }
            let left = core::mem::take(u);
            u.address = address.to_owned();
            u.entered = left.entered;
            (u.written, u.looked) = (left.written, left.looked);
            (!left.all.is_empty()).then_some(left.address)
        });
        if let Some(left) = left.flatten() {
            let route = Route::read(&left);
            if let Some(job) = route.job() {
                let name = format!("{job}/typed/{left}");
                spawn_local(async move {
                    let _ = store::keep_draft(&name, None).await;
                });
            }
        }
    }

    fn fetch_unsaid(self, address: String, name: String) {
        if self.unsaid.with_value(|u| u.address == address) {
            return;
        }
        self.leave_for(&address);
        spawn_local(async move {
            let Ok(Some(text)) = store::draft(&name).await else {
                return;
            };
            let Ok(mut kept) = samespot_core::json::read::<Vec<Unsaid>>(&text) else {
                return;
            };
            for u in &mut kept {
                u.waits = true;
            }
            self.unsaid.update_value(|u| {
                if u.address == address {
                    kept.retain(|k| u.all.iter().all(|a| a.id != k.id));
                    u.all.splice(0..0, kept);
                }
            });
            for _ in 0..LOOKS {
                if self.put_back() {
                    break;
                }
                clock::pause(AFTER_MS).await;
            }
        });
    }

    /// Puts back what can be; says whether nothing waits any more.
    fn put_back(self) -> bool {
        let back = self
            .unsaid
            .try_update_value(|u| u.put_back(open_fields::now))
            .unwrap_or_default();
        for u in &back {
            open_fields::type_again(&u.id, &u.text);
            self.unsaid
                .update_value(|all| all.put_back.push(u.id.clone()));
        }
        if let Some(last) = back.last() {
            open_fields::focus(&last.id);
        }
        self.unsaid.with_value(|u| u.all.iter().all(|u| !u.waits))
    }

    /// Looks, once taps and keys have had their effect, what fields still hold; and again for what an
    /// answer is waited for.
    fn look_soon(self) {
        let number = self.unsaid.try_update_value(|u| {
            u.looked += 1;
            u.looked
        });
        spawn_local(async move {
            for pause in [AFTER_MS, LATER_MS] {
                clock::pause(pause).await;
                let (last, none) = self
                    .unsaid
                    .with_value(|u| (Some(u.looked) == number, u.all.is_empty()));
                if !last || none {
                    return;
                }
                let Some((address, _)) = here() else {
                    return self.leave_for("");
                };
                self.leave_for(&address);
                self.put_back();
                let other = self.unsaid.try_update_value(|u| u.let_go(open_fields::now));
                if other == Some(true) {
                    self.write_unsaid();
                }
            }
        });
    }

    /// Writes it down after a short pause, as it stands by then.
    fn write_unsaid(self) {
        let number = self.unsaid.try_update_value(|u| {
            u.written += 1;
            u.written
        });
        spawn_local(async move {
            clock::pause(PAUSE_MS).await;
            let now = self
                .unsaid
                .with_value(|u| (Some(u.written) == number).then(|| u.clone()));
            let Some(now) = now else { return };
            let route = Route::read(&now.address);
            let Some(job) = route.job() else { return };
            let name = format!("{job}/typed/{}", now.address);
            let text = serde_json::to_string(&now.all).ok();
            let text = text.filter(|_| !now.all.is_empty());
            // A device that keeps nothing has said so already.
            let _ = store::keep_draft(&name, text.as_deref()).await;
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(id: &str, text: &str) -> Touched {
        Touched {
            id: id.into(),
            label: format!("the {id}"),
            text: text.into(),
        }
    }

    /// With 'name' holding *eye* before, and *eyebrow* typed over it.
    fn typed() -> AtHand {
        let mut at = AtHand {
            entered: Some(field("name", "eye")),
            ..AtHand::default()
        };
        for text in ["eyeb", "eyebr", "eyebrow"] {
            at.typed(field("name", text));
        }
        at
    }

    /// As it comes back after the page was killed.
    fn after_a_kill(at: AtHand) -> AtHand {
        let text = serde_json::to_string(&at.all).unwrap_or_default();
        let mut all: Vec<Unsaid> = serde_json::from_str(&text).unwrap_or_default();
        for u in &mut all {
            u.waits = true;
        }
        AtHand {
            all,
            ..AtHand::default()
        }
    }

    #[test]
    fn what_was_being_typed_goes_back_where_nothing_else_was_said() {
        let mut at = after_a_kill(typed());
        assert_eq!(at.all.len(), 1);
        let back = at.put_back(|id| Some(field(id, "eye")));
        assert_eq!((back.len(), back[0].text.as_str()), (1, "eyebrow"));
        assert!(at.put_back(|id| Some(field(id, "eye"))).is_empty(), "once");
    }

    #[test]
    fn what_the_job_says_by_now_comes_first() {
        for now in ["eyebrow", "brow"] {
            let mut at = after_a_kill(typed());
            assert!(at.put_back(|id| Some(field(id, now))).is_empty());
            assert!(at.all.is_empty(), "{now}");
        }
    }

    #[test]
    fn a_field_that_means_something_else_gets_nothing() {
        let mut at = after_a_kill(typed());
        let other = |id: &str| {
            Some(Touched {
                label: "the other".into(),
                ..field(id, "eye")
            })
        };
        assert!(at.put_back(other).is_empty());
        assert!(at.put_back(|_| None).is_empty());
        assert_eq!(at.all.len(), 1, "it waits for its own");
    }

    #[test]
    fn what_keys_of_the_page_put_into_fields_goes_back_too() {
        let mut at = AtHand {
            entered: Some(field("other", "cursor")),
            ..AtHand::default()
        };
        for (before, text) in [("", "0.5"), ("0.5", "1"), ("1", "1.5")] {
            at.put_in(field("gap-top", before), text);
        }
        at.put_in(field("gap-left", ""), "-0.5");
        assert!(!at.let_go(|id| Some(field(id, if id == "gap-top" { "1.5" } else { "-0.5" }))));
        let mut at = after_a_kill(at);
        let back = at.put_back(|id| Some(field(id, "")));
        let back: Vec<(&str, &str)> = back.iter().map(|u| (&*u.id, &*u.text)).collect();
        assert_eq!(back, [("gap-top", "1.5"), ("gap-left", "-0.5")]);
        // Stepped back to what stood there: nothing is left to be said.
        let mut at = AtHand::default();
        at.put_in(field("gap-top", "0"), "0.5");
        at.put_in(field("gap-top", "0.5"), "0");
        assert!(at.all.is_empty());
    }

    #[test]
    fn it_is_let_go_of_once_the_field_holds_something_else() {
        let mut at = typed();
        assert!(!at.let_go(|id| Some(field(id, "eyebrow"))));
        assert!(at.let_go(|id| Some(field(id, ""))), "kept, and emptied");
        assert!(at.all.is_empty());
        let mut at = typed();
        assert!(at.let_go(|_| None), "put away");
        let mut at = typed();
        assert!(at.let_go(|id| Some(field(id, "eyebrow½"))));
        assert_eq!(at.all[0].text, "eyebrow½", "a sign by the page's own key");
        // Typed back to what it was: nothing is left to be said.
        let mut at = typed();
        at.typed(field("name", "eye"));
        assert!(at.all.is_empty());
    }
}
