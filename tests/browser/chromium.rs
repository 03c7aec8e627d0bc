//! Chromium, driven through its DevTools socket.

use std::collections::{BTreeMap, VecDeque};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD as BASE64;
use serde_json::{Value, json};

use crate::browser::{Browser, Outcome, Screen, Spot, Tab};
use crate::devtools::{Connection, Event};

/// A crowded machine takes its time to start a browser or to load a page.
const PATIENCE: Duration = Duration::from_secs(60);

const FLAGS: [&str; 18] = [
    "--headless=new",
    // Only pages of this repository are opened, and its containers have no user namespaces.
    "--no-sandbox",
    "--disable-gpu",
    // Faces are turned by WebGL2; there is no graphics card here, and from 137 on nothing stands in for
    // one unless it is asked for.
    "--enable-unsafe-swiftshader",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-extensions",
    "--disable-default-apps",
    "--no-first-run",
    "--no-default-browser-check",
    "--password-store=basic",
    "--mute-audio",
    "--lang=en-GB",
    // Whatever asks for another host gets nothing, and is found in `requested`.
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost",
    "--remote-debugging-port=0",
];

pub(crate) struct Chromium {
    profile: PathBuf,
    downloads: PathBuf,
    child: Child,
    connection: Connection,
    /// Open tabs by number: target and session.
    tabs: BTreeMap<usize, (String, String)>,
    last_tab: usize,
    touch: BTreeMap<usize, bool>,
    /// Sessions by target, as the browser announces them.
    sessions: BTreeMap<String, String>,
    loaded: Vec<String>,
    file_names: BTreeMap<String, String>,
    finished: VecDeque<PathBuf>,
    heard: Vec<String>,
    requested: Vec<String>,
}

impl Chromium {
    /// Starts on the profile in `profile`, made if it is not there; downloads go to `downloads`.
    pub(crate) fn start(profile: &Path, downloads: &Path) -> Outcome<Self> {
        let (child, connection) = launch(profile)?;
        let mut browser = Self {
            profile: profile.to_path_buf(),
            downloads: downloads.to_path_buf(),
            child,
            connection,
            tabs: BTreeMap::new(),
            last_tab: 0,
            touch: BTreeMap::new(),
            sessions: BTreeMap::new(),
            loaded: Vec::new(),
            file_names: BTreeMap::new(),
            finished: VecDeque::new(),
            heard: Vec::new(),
            requested: Vec::new(),
        };
        browser.prepare()?;
        Ok(browser)
    }

    fn prepare(&mut self) -> Outcome {
        self.connection.attach_to_all("")?;
        let how = json!({
            "behavior": "allowAndName",
            "downloadPath": self.downloads,
            "eventsEnabled": true,
        });
        self.connection
            .call("", "Browser.setDownloadBehavior", how)?;
        Ok(())
    }

    fn session(&self, tab: Tab) -> Outcome<String> {
        self.tabs
            .get(&tab.0)
            .map(|(_, session)| session.clone())
            .ok_or_else(|| format!("tab {} is closed", tab.0))
    }

    fn call(&mut self, tab: Tab, method: &str, params: Value) -> Outcome<Value> {
        let session = self.session(tab)?;
        let answer = self.connection.call(&session, method, params);
        self.take_in();
        answer
    }

    /// Looks at the socket until `done`, at most `patience`.
    fn wait(
        &mut self,
        what: &str,
        patience: Duration,
        mut done: impl FnMut(&mut Self) -> bool,
    ) -> Outcome {
        let until = Instant::now() + patience;
        loop {
            self.take_in();
            if done(self) {
                return Ok(());
            }
            if Instant::now() > until {
                return Err(format!("{what}: not within {patience:?}"));
            }
            self.connection.look()?;
        }
    }

    fn take_in(&mut self) {
        while let Some(event) = self.connection.event() {
            self.take(&event);
        }
    }

    fn take(&mut self, event: &Event) {
        let params = &event.params;
        let text = |value: &Value| value.as_str().unwrap_or("").to_owned();
        match event.method.as_str() {
            "Target.attachedToTarget" => {
                let target = text(&params["targetInfo"]["targetId"]);
                self.sessions.insert(target, text(&params["sessionId"]));
            }
            "Page.loadEventFired" => self.loaded.push(event.session.clone()),
            "Network.requestWillBeSent" => self.requested.push(text(&params["request"]["url"])),
            "Runtime.exceptionThrown" => {
                let details = &params["exceptionDetails"];
                let what = match details["exception"]["description"].as_str() {
                    Some(description) => description.to_owned(),
                    None => text(&details["text"]),
                };
                self.heard.push(format!("exception: {what}"));
            }
            "Runtime.consoleAPICalled"
                if matches!(params["type"].as_str(), Some("error" | "assert")) =>
            {
                let words: Vec<String> = params["args"]
                    .as_array()
                    .into_iter()
                    .flatten()
                    .map(
                        |word| match (word["value"].as_str(), word["description"].as_str()) {
                            (Some(text), _) | (None, Some(text)) => text.to_owned(),
                            (None, None) => word["value"].to_string(),
                        },
                    )
                    .collect();
                self.heard.push(format!("console: {}", words.join(" ")));
            }
            "Log.entryAdded" if params["entry"]["level"] == "error" => {
                let entry = &params["entry"];
                let line = format!(
                    "{}: {} {}",
                    text(&entry["source"]),
                    text(&entry["text"]),
                    text(&entry["url"])
                );
                self.heard.push(line.trim_end().to_owned());
            }
            "Browser.downloadWillBegin" => {
                let name = text(&params["suggestedFilename"]);
                self.file_names.insert(text(&params["guid"]), name);
            }
            "Browser.downloadProgress" if params["state"] == "completed" => {
                self.name_download(&text(&params["guid"]));
            }
            _ => {}
        }
    }

    /// Downloads arrive under a number, so that two of one name do not meet.
    fn name_download(&mut self, number: &str) {
        let Some(name) = self.file_names.remove(number) else {
            return;
        };
        let from = self.downloads.join(number);
        let to = self.downloads.join(&name);
        match fs::rename(&from, &to) {
            Ok(()) => self.finished.push_back(to),
            Err(fault) => self.heard.push(format!("download {name}: {fault}")),
        }
    }

    fn mouse(&mut self, tab: Tab, kind: &str, at: Spot, buttons: u8) -> Outcome {
        let params = json!({
            "type": kind, "x": at.x, "y": at.y, "button": if kind == "mouseMoved" { "none" } else { "left" },
            "buttons": buttons, "clickCount": i32::from(kind != "mouseMoved"),
        });
        self.call(tab, "Input.dispatchMouseEvent", params).map(drop)
    }

    fn finger(&mut self, tab: Tab, kind: &str, at: &[Spot]) -> Outcome {
        let points: Vec<Value> = at
            .iter()
            .map(|spot| json!({"x": spot.x, "y": spot.y}))
            .collect();
        let params = json!({"type": kind, "touchPoints": points});
        self.call(tab, "Input.dispatchTouchEvent", params).map(drop)
    }

    fn is_touch(&self, tab: Tab) -> bool {
        self.touch.get(&tab.0).copied().unwrap_or(false)
    }

    fn wait_for_load(&mut self, tab: Tab, what: &str) -> Outcome {
        let session = self.session(tab)?;
        self.wait(what, PATIENCE, |browser| browser.loaded.contains(&session))
    }

    fn bytes(answer: &Value) -> Outcome<Vec<u8>> {
        let text = answer["data"].as_str().unwrap_or("");
        BASE64.decode(text).map_err(|fault| fault.to_string())
    }

    fn forget_tabs(&mut self) {
        self.tabs.clear();
        self.sessions.clear();
        self.loaded.clear();
    }
}

fn program() -> Outcome<PathBuf> {
    if let Some(named) = std::env::var_os("SAMESPOT_BROWSER") {
        return Ok(PathBuf::from(named));
    }
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path)
        .flat_map(|folder| ["chromium", "chromium-browser"].map(|name| folder.join(name)))
        .find(|candidate| candidate.is_file())
        .ok_or_else(|| "no Chromium on PATH; `cargo xtask test` installs it".to_owned())
}

fn launch(profile: &Path) -> Outcome<(Child, Connection)> {
    fs::create_dir_all(profile).map_err(|fault| format!("{}: {fault}", profile.display()))?;
    let port_file = profile.join("DevToolsActivePort");
    // Left behind by a browser that was killed, it would name a dead port.
    let _ = fs::remove_file(&port_file);
    let mut child = Command::new(program()?)
        .args(FLAGS)
        .arg(format!("--user-data-dir={}", profile.display()))
        .arg("about:blank")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|fault| format!("cannot start the browser: {fault}"))?;
    let until = Instant::now() + PATIENCE;
    loop {
        let text = fs::read_to_string(&port_file).unwrap_or_default();
        let mut lines = text.lines();
        let port = lines.next().and_then(|line| line.parse().ok());
        if let (Some(port), Some(path)) = (port, lines.next()) {
            return Ok((child, Connection::open(port, path)?));
        }
        if let Ok(Some(status)) = child.try_wait() {
            return Err(format!("the browser ended at once ({status})"));
        }
        if Instant::now() > until {
            let _ = child.kill();
            let _ = child.wait();
            return Err(format!(
                "the browser did not open its socket in {PATIENCE:?}"
            ));
        }
        thread::sleep(Duration::from_millis(20));
    }
}

impl Browser for Chromium {
    fn open_tab(&mut self) -> Outcome<Tab> {
        let made =
            self.connection
                .call("", "Target.createTarget", json!({"url": "about:blank"}))?;
        let target = made["targetId"].as_str().unwrap_or("").to_owned();
        self.wait("a new tab", PATIENCE, |browser| {
            browser.sessions.contains_key(&target)
        })?;
        let session = self.sessions[&target].clone();
        self.last_tab += 1;
        self.tabs.insert(self.last_tab, (target, session));
        let tab = Tab(self.last_tab);
        self.set_screen(tab, Screen::DESK)?;
        Ok(tab)
    }

    fn close_tab(&mut self, tab: Tab) -> Outcome {
        let Some((target, _)) = self.tabs.remove(&tab.0) else {
            return Err(format!("tab {} is closed already", tab.0));
        };
        let params = json!({"targetId": target});
        self.connection.call("", "Target.closeTarget", params)?;
        Ok(())
    }

    fn open_tabs(&self) -> Vec<Tab> {
        self.tabs.keys().copied().map(Tab).collect()
    }

    fn set_screen(&mut self, tab: Tab, screen: Screen) -> Outcome {
        let size = json!({
            "width": screen.width, "height": screen.height,
            "deviceScaleFactor": 1, "mobile": screen.touch,
        });
        self.call(tab, "Emulation.setDeviceMetricsOverride", size)?;
        let touch = json!({"enabled": screen.touch, "maxTouchPoints": 5});
        self.call(tab, "Emulation.setTouchEmulationEnabled", touch)?;
        self.touch.insert(tab.0, screen.touch);
        Ok(())
    }

    fn go(&mut self, tab: Tab, url: &str) -> Outcome {
        let session = self.session(tab)?;
        self.take_in();
        self.loaded.retain(|loaded| *loaded != session);
        let answer = self.call(tab, "Page.navigate", json!({"url": url}))?;
        if let Some(fault) = answer["errorText"].as_str() {
            return Err(format!("{url}: {fault}"));
        }
        // A change of the part after `#` loads nothing.
        if answer.get("loaderId").is_none() {
            return Ok(());
        }
        self.wait_for_load(tab, url)
    }

    fn reload(&mut self, tab: Tab) -> Outcome {
        let session = self.session(tab)?;
        self.take_in();
        self.loaded.retain(|loaded| *loaded != session);
        self.call(tab, "Page.reload", json!({}))?;
        self.wait_for_load(tab, "reload")
    }

    fn to_front(&mut self, tab: Tab) -> Outcome {
        self.call(tab, "Page.bringToFront", json!({})).map(drop)
    }

    fn before_load(&mut self, tab: Tab, script: &str) -> Outcome {
        let params = json!({"source": script});
        self.call(tab, "Page.addScriptToEvaluateOnNewDocument", params)
            .map(drop)
    }

    fn eval(&mut self, tab: Tab, script: &str) -> Outcome<Value> {
        let params = json!({
            "expression": script, "awaitPromise": true, "returnByValue": true, "userGesture": true,
            "allowUnsafeEvalBlockedByCSP": false,
        });
        let answer = self.call(tab, "Runtime.evaluate", params)?;
        match answer.get("exceptionDetails") {
            Some(details) => {
                let what = details["exception"]["description"]
                    .as_str()
                    .or(details["text"].as_str());
                Err(what.unwrap_or("an exception").to_owned())
            }
            None => Ok(answer["result"]["value"].clone()),
        }
    }

    fn tap(&mut self, tab: Tab, at: Spot) -> Outcome {
        if self.is_touch(tab) {
            self.finger(tab, "touchStart", &[at])?;
            return self.finger(tab, "touchEnd", &[]);
        }
        self.mouse(tab, "mouseMoved", at, 0)?;
        self.mouse(tab, "mousePressed", at, 1)?;
        self.mouse(tab, "mouseReleased", at, 0)
    }

    fn drag(&mut self, tab: Tab, from: Spot, to: Spot) -> Outcome {
        let steps: Vec<Spot> = [0.25, 0.5, 0.75, 1.0]
            .iter()
            .map(|share| Spot {
                x: from.x + (to.x - from.x) * share,
                y: from.y + (to.y - from.y) * share,
            })
            .collect();
        if self.is_touch(tab) {
            self.finger(tab, "touchStart", &[from])?;
            for step in steps {
                self.finger(tab, "touchMove", &[step])?;
            }
            return self.finger(tab, "touchEnd", &[]);
        }
        self.mouse(tab, "mouseMoved", from, 0)?;
        self.mouse(tab, "mousePressed", from, 1)?;
        for step in steps {
            self.mouse(tab, "mouseMoved", step, 1)?;
        }
        self.mouse(tab, "mouseReleased", to, 0)
    }

    fn key(&mut self, tab: Tab, key: &str) -> Outcome {
        let mut names: Vec<&str> = key.split('+').collect();
        let name = names.pop().unwrap_or("");
        let mut modifiers = 0;
        for modifier in names {
            modifiers |= match modifier {
                "Alt" => 1,
                "Control" => 2,
                "Meta" => 4,
                "Shift" => 8,
                other => return Err(format!("`{other}` is not a modifier")),
            };
        }
        let (number, text) = key_code(name)?;
        // With Control or Alt held a key is a command and writes nothing.
        let text = if modifiers & 7 == 0 {
            text
        } else {
            String::new()
        };
        let kind = if text.is_empty() {
            "rawKeyDown"
        } else {
            "keyDown"
        };
        let mut params = json!({
            "type": kind, "key": if name == "Space" { " " } else { name }, "code": name,
            "modifiers": modifiers,
            "windowsVirtualKeyCode": number, "text": text,
        });
        self.call(tab, "Input.dispatchKeyEvent", params.clone())?;
        params["type"] = json!("keyUp");
        params["text"] = json!("");
        self.call(tab, "Input.dispatchKeyEvent", params).map(drop)
    }

    fn insert_text(&mut self, tab: Tab, text: &str) -> Outcome {
        self.call(tab, "Input.insertText", json!({"text": text}))
            .map(drop)
    }

    fn choose_file(&mut self, tab: Tab, selector: &str, file: &Path) -> Outcome {
        let params = json!({"expression": format!("document.querySelector({})", json!(selector))});
        let found = self.call(tab, "Runtime.evaluate", params)?;
        let Some(object) = found["result"]["objectId"].as_str() else {
            return Err(format!("no file field {selector}"));
        };
        let params = json!({"files": [file], "objectId": object});
        self.call(tab, "DOM.setFileInputFiles", params).map(drop)
    }

    fn picture(&mut self, tab: Tab) -> Outcome<Vec<u8>> {
        let answer = self.call(tab, "Page.captureScreenshot", json!({"format": "png"}))?;
        Self::bytes(&answer)
    }

    fn print(&mut self, tab: Tab) -> Outcome<Vec<u8>> {
        let params = json!({"preferCSSPageSize": true, "printBackground": true});
        let answer = self.call(tab, "Page.printToPDF", params)?;
        Self::bytes(&answer)
    }

    fn download(&mut self, patience: Duration) -> Outcome<PathBuf> {
        self.wait("a download", patience, |browser| {
            !browser.finished.is_empty()
        })?;
        self.finished
            .pop_front()
            .ok_or_else(|| "no download".to_owned())
    }

    fn heard(&mut self) -> Vec<String> {
        // What is on the way belongs to what was done before the question.
        while self.connection.look().unwrap_or(false) {}
        self.take_in();
        self.heard.clone()
    }

    fn requested(&mut self) -> Vec<String> {
        while self.connection.look().unwrap_or(false) {}
        self.take_in();
        self.requested.clone()
    }

    fn quit(&mut self) -> Outcome {
        self.take_in();
        // The answer may never come: the browser is leaving.
        let _ = self.connection.tell("", "Browser.close", json!({}));
        let until = Instant::now() + Duration::from_secs(10);
        while Instant::now() < until {
            let _ = self.connection.look();
            self.take_in();
            if let Ok(Some(_)) = self.child.try_wait() {
                self.forget_tabs();
                return Ok(());
            }
            thread::sleep(Duration::from_millis(10));
        }
        self.kill()
    }

    fn kill(&mut self) -> Outcome {
        self.take_in();
        let ended = self.child.kill().and_then(|()| self.child.wait());
        self.forget_tabs();
        ended.map(drop).map_err(|fault| fault.to_string())
    }

    fn start_again(&mut self) -> Outcome {
        (self.child, self.connection) = launch(&self.profile)?;
        self.forget_tabs();
        self.prepare()
    }
}

impl Drop for Chromium {
    fn drop(&mut self) {
        if matches!(self.child.try_wait(), Ok(None)) {
            let _ = self.quit();
        }
    }
}

/// The number Windows gave the key, which browsers still carry, and the text it writes.
fn key_code(name: &str) -> Outcome<(u32, String)> {
    let named = match name {
        "Backspace" => (8, ""),
        "Tab" => (9, ""),
        "Enter" => (13, "\r"),
        "Escape" => (27, ""),
        "Space" => (32, " "),
        "PageUp" => (33, ""),
        "PageDown" => (34, ""),
        "End" => (35, ""),
        "Home" => (36, ""),
        "ArrowLeft" => (37, ""),
        "ArrowUp" => (38, ""),
        "ArrowRight" => (39, ""),
        "ArrowDown" => (40, ""),
        "Delete" => (46, ""),
        _ => {
            let mut letters = name.chars();
            return match (letters.next(), letters.next()) {
                (Some(letter), None) => {
                    Ok((u32::from(letter.to_ascii_uppercase()), letter.to_string()))
                }
                _ => Err(format!("`{name}` is not a key known here")),
            };
        }
    };
    Ok((named.0, named.1.to_owned()))
}
