//! The Chrome DevTools Protocol over one WebSocket: commands out, answers and events in.

use std::collections::{BTreeMap, VecDeque};
use std::io::ErrorKind;
use std::net::TcpStream;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tungstenite::{Message, WebSocket};

use crate::browser::Outcome;

/// No single command takes longer, even on a crowded machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// How long one look at the socket may block.
const LOOK: Duration = Duration::from_millis(20);

pub(crate) struct Event {
    pub(crate) session: String,
    pub(crate) method: String,
    pub(crate) params: Value,
}

pub(crate) struct Connection {
    socket: WebSocket<TcpStream>,
    last_number: u64,
    answers: BTreeMap<u64, Value>,
    /// Answers nobody waits for.
    unwanted: Vec<u64>,
    events: VecDeque<Event>,
}

impl Connection {
    /// Connects to the browser's own socket.
    pub(crate) fn open(port: u16, path: &str) -> Outcome<Self> {
        let stream = TcpStream::connect(("127.0.0.1", port))
            .map_err(|fault| format!("cannot reach the browser: {fault}"))?;
        stream
            .set_nodelay(true)
            .and_then(|()| stream.set_read_timeout(Some(PATIENCE)))
            .map_err(|fault| fault.to_string())?;
        let url = format!("ws://127.0.0.1:{port}{path}");
        let (socket, _) = tungstenite::client(url, stream)
            .map_err(|fault| format!("the browser refuses the socket: {fault}"))?;
        socket
            .get_ref()
            .set_read_timeout(Some(LOOK))
            .map_err(|fault| fault.to_string())?;
        Ok(Self {
            socket,
            last_number: 0,
            answers: BTreeMap::new(),
            unwanted: Vec::new(),
            events: VecDeque::new(),
        })
    }

    /// Sends a command and waits for its answer. No session is the browser itself.
    pub(crate) fn call(&mut self, session: &str, method: &str, params: Value) -> Outcome<Value> {
        let number = self.send(session, method, params)?;
        let until = Instant::now() + PATIENCE;
        while !self.answers.contains_key(&number) {
            if Instant::now() > until {
                return Err(format!("{method}: no answer in {PATIENCE:?}"));
            }
            self.look()?;
        }
        let answer = self.answers.remove(&number).unwrap_or_default();
        match answer.get("error") {
            Some(error) => Err(format!("{method}: {error}")),
            None => Ok(answer["result"].clone()),
        }
    }

    /// Sends a command and does not wait: for what has to be said from within an event.
    pub(crate) fn tell(&mut self, session: &str, method: &str, params: Value) -> Outcome {
        let number = self.send(session, method, params)?;
        self.unwanted.push(number);
        Ok(())
    }

    fn send(&mut self, session: &str, method: &str, params: Value) -> Outcome<u64> {
        self.last_number += 1;
        let mut message = json!({"id": self.last_number, "method": method, "params": params});
        if !session.is_empty() {
            message["sessionId"] = json!(session);
        }
        self.socket
            .send(Message::text(message.to_string()))
            .map_err(|fault| format!("{method}: the browser is gone ({fault})"))?;
        Ok(self.last_number)
    }

    /// Takes in one message, if there is one within a moment.
    pub(crate) fn look(&mut self) -> Outcome<bool> {
        let message = match self.socket.read() {
            Ok(Message::Text(text)) => text,
            Ok(_) => return Ok(true),
            Err(tungstenite::Error::Io(fault))
                if matches!(fault.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut) =>
            {
                return Ok(false);
            }
            Err(fault) => return Err(format!("the browser is gone ({fault})")),
        };
        let mut message: Value = serde_json::from_str(&message)
            .map_err(|fault| format!("the browser sent what is not JSON: {fault}"))?;
        if let Some(number) = message["id"].as_u64() {
            match self
                .unwanted
                .iter()
                .position(|unwanted| *unwanted == number)
            {
                Some(at) => {
                    self.unwanted.swap_remove(at);
                }
                None => {
                    self.answers.insert(number, message);
                }
            }
        } else {
            let event = Event {
                session: message["sessionId"].as_str().unwrap_or("").to_owned(),
                method: message["method"].as_str().unwrap_or("").to_owned(),
                params: message["params"].take(),
            };
            self.react(&event)?;
            self.events.push_back(event);
        }
        Ok(true)
    }

    /// The next event not yet given out.
    pub(crate) fn event(&mut self) -> Option<Event> {
        self.events.pop_front()
    }

    /// Pages and workers start paused, so that nothing they do goes unheard: listen, then let go.
    fn react(&mut self, event: &Event) -> Outcome {
        if event.method != "Target.attachedToTarget" {
            return Ok(());
        }
        let session = event.params["sessionId"].as_str().unwrap_or("").to_owned();
        let target = &event.params["targetInfo"];
        let is_page = target["type"] == "page";
        // The browser has pages of its own, for its address bar; ours are opened empty.
        let url = target["url"].as_str().unwrap_or("");
        if url.starts_with("chrome") || (is_page && url != "about:blank") {
            return self.tell(&session, "Runtime.runIfWaitingForDebugger", json!({}));
        }
        if is_page {
            self.tell(&session, "Page.enable", json!({}))?;
        }
        for domain in ["Runtime", "Log", "Network"] {
            self.tell(&session, &format!("{domain}.enable"), json!({}))?;
        }
        self.attach_to_all(&session)?;
        self.tell(&session, "Runtime.runIfWaitingForDebugger", json!({}))
    }

    /// Asks to hear of everything that the session starts.
    pub(crate) fn attach_to_all(&mut self, session: &str) -> Outcome {
        let how = json!({"autoAttach": true, "waitForDebuggerOnStart": true, "flatten": true});
        self.tell(session, "Target.setAutoAttach", how)
    }
}
