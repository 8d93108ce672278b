//! A small client of a headless browser's DevTools protocol, for the page's tests.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tungstenite::{Message, WebSocket};

/// A running browser with one page.
pub struct Browser {
    child: Child,
    _profile: tempfile::TempDir,
    socket: WebSocket<TcpStream>,
    next: u64,
    /// Console messages of kind error, uncaught exceptions, and addresses asked for.
    pub troubles: Vec<String>,
    pub requests: Vec<String>,
}

const PATIENCE: Duration = Duration::from_secs(60);

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn find_browser() -> PathBuf {
    ["chromium", "chromium-browser", "google-chrome"]
        .iter()
        .flat_map(|name| {
            ["/usr/bin", "/usr/local/bin", "/snap/bin"].map(|folder| Path::new(folder).join(name))
        })
        .find(|path| path.exists())
        .expect("no headless browser is installed; checks/set-up installs chromium")
}

impl Browser {
    pub fn start() -> Self {
        let profile = tempfile::tempdir().expect("a scratch folder");
        let mut child = Command::new(find_browser())
            .args([
                "--headless=new",
                "--no-sandbox",
                "--disable-gpu",
                "--remote-debugging-port=0",
                "--hide-scrollbars",
            ])
            .args([
                "--no-first-run",
                "--disable-extensions",
                "--disable-dev-shm-usage",
                "--force-color-profile=srgb",
            ])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .arg("about:blank")
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the browser starts");
        let mut lines = BufReader::new(child.stderr.take().expect("its messages")).lines();
        let address = lines
            .by_ref()
            .map_while(Result::ok)
            .find_map(|line| line.split_once("DevTools listening on ws://").map(|(_, rest)| rest.to_owned()))
            .expect("the browser tells its address");
        // Keep reading, so that the browser never waits on a full pipe.
        std::thread::spawn(move || lines.for_each(drop));
        let host = address.split('/').next().expect("a host").to_owned();
        let target = new_target(&host);
        let stream = TcpStream::connect(&host).expect("the browser listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        let (socket, _) = tungstenite::client(target.as_str(), stream).expect("a handshake");
        let mut browser =
            Self { child, _profile: profile, socket, next: 0, troubles: Vec::new(), requests: Vec::new() };
        for domain in ["Page.enable", "Runtime.enable", "Log.enable", "Network.enable"] {
            browser.call(domain, json!({}));
        }
        browser
    }

    /// Calls a method and waits for its result; events on the way are noted.
    pub fn call(&mut self, method: &str, parameters: Value) -> Value {
        self.next += 1;
        let id = self.next;
        let text = json!({ "id": id, "method": method, "params": parameters }).to_string();
        self.socket.send(Message::text(text)).expect("the browser listens");
        loop {
            let message = self.socket.read().expect("the browser answers");
            let Message::Text(text) = message else { continue };
            let value: Value = serde_json::from_str(&text).expect("JSON");
            if value["id"] == id {
                assert!(value["error"].is_null(), "{method}: {}", value["error"]);
                return value["result"].clone();
            }
            self.note(&value);
        }
    }

    fn note(&mut self, event: &Value) {
        let parameters = &event["params"];
        match event["method"].as_str() {
            Some("Runtime.exceptionThrown") => self.troubles.push(parameters["exceptionDetails"].to_string()),
            Some("Runtime.consoleAPICalled") if parameters["type"] == "error" => {
                self.troubles.push(parameters["args"].to_string())
            }
            Some("Log.entryAdded") if parameters["entry"]["level"] == "error" => {
                self.troubles.push(parameters["entry"].to_string())
            }
            Some("Network.requestWillBeSent") => {
                self.requests.push(parameters["request"]["url"].as_str().unwrap_or_default().to_owned());
            }
            _ => {}
        }
    }

    pub fn size(&mut self, width: u32, height: u32, scale: f64) {
        let mobile = width < 600;
        self.call(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": width, "height": height, "deviceScaleFactor": scale, "mobile": mobile }),
        );
    }

    pub fn open(&mut self, address: &str) {
        self.call("Page.navigate", json!({ "url": address }));
    }

    /// Value of an expression; promises are waited for.
    pub fn value(&mut self, expression: &str) -> Value {
        let answer = self.call(
            "Runtime.evaluate",
            json!({ "expression": expression, "returnByValue": true, "awaitPromise": true }),
        );
        assert!(answer["exceptionDetails"].is_null(), "{expression}: {}", answer["exceptionDetails"]);
        answer["result"]["value"].clone()
    }

    /// Waits until an expression is true.
    pub fn wait_for(&mut self, expression: &str) {
        self.wait_up_to(PATIENCE, expression);
    }

    /// Waits longer, for what takes many solutions.
    pub fn wait_up_to(&mut self, patience: Duration, expression: &str) {
        let began = Instant::now();
        while self.value(&format!("Boolean({expression})")) != Value::Bool(true) {
            assert!(
                began.elapsed() < patience,
                "still not: {expression}; the page says {}",
                self.value("document.body?.innerText?.slice(0, 600)")
            );
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    pub fn key(&mut self, key: &str, modifiers: u32) {
        for kind in ["keyDown", "keyUp"] {
            self.call(
                "Input.dispatchKeyEvent",
                json!({ "type": kind, "key": key, "code": key, "modifiers": modifiers }),
            );
        }
    }

    /// The Tab key, which moves the focus.
    pub fn tab(&mut self) {
        for kind in ["rawKeyDown", "keyUp"] {
            self.call(
                "Input.dispatchKeyEvent",
                json!({ "type": kind, "key": "Tab", "code": "Tab", "windowsVirtualKeyCode": 9 }),
            );
        }
    }

    pub fn point(&mut self, x: f64, y: f64) {
        self.call("Input.dispatchMouseEvent", json!({ "type": "mouseMoved", "x": x, "y": y }));
    }

    /// A picture of the page from its top, kept as test output.
    pub fn picture(&mut self, name: &str, height: Option<u32>) {
        let whole = self.value("document.documentElement.scrollHeight").as_f64().unwrap_or(800.0);
        let width = self.value("document.documentElement.clientWidth").as_f64().unwrap_or(1200.0);
        let clip =
            json!({ "x": 0, "y": 0, "width": width, "height": height.map_or(whole, f64::from), "scale": 1 });
        let shot = self.call(
            "Page.captureScreenshot",
            json!({ "format": "png", "captureBeyondViewport": true, "clip": clip }),
        );
        let bytes = decoded(shot["data"].as_str().expect("a picture"));
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../test-output/page");
        std::fs::create_dir_all(&folder).expect("a folder for pictures");
        std::fs::write(folder.join(name), bytes).expect("the picture is written");
    }
}

fn new_target(host: &str) -> String {
    let answer = plain_request(host, "PUT", "/json/new?about:blank", host);
    let body = answer.split_once("\r\n\r\n").expect("a body").1;
    let begin = body.find('{').expect("an object");
    let end = body.rfind('}').expect("an object");
    let target: Value = serde_json::from_str(&body[begin..=end]).expect("JSON");
    target["webSocketDebuggerUrl"].as_str().expect("an address").to_owned()
}

/// A bare HTTP request; returns head and body.
pub fn plain_request(address: &str, method: &str, path: &str, host: &str) -> String {
    let mut stream = TcpStream::connect(address).expect("it listens");
    stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n"
    )
    .expect("it reads");
    let mut bytes = Vec::new();
    let mut piece = [0; 65536];
    // Until the length it announces, or its end: some servers keep the line open.
    while let Ok(count @ 1..) = stream.read(&mut piece) {
        bytes.extend_from_slice(&piece[..count]);
        let text = String::from_utf8_lossy(&bytes);
        if let Some((head, body)) = text.split_once("\r\n\r\n") {
            let length = head.lines().find_map(|line| {
                line.to_lowercase().strip_prefix("content-length:")?.trim().parse::<usize>().ok()
            });
            if length.is_some_and(|length| body.len() >= length) {
                break;
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Base64, as the protocol sends pictures.
fn decoded(text: &str) -> Vec<u8> {
    let digit = |c: u8| match c {
        b'A'..=b'Z' => Some(c - b'A'),
        b'a'..=b'z' => Some(c - b'a' + 26),
        b'0'..=b'9' => Some(c - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    };
    let digits: Vec<u32> = text.bytes().filter_map(digit).map(u32::from).collect();
    digits
        .chunks(4)
        .flat_map(|four| {
            let value = four.iter().enumerate().fold(0, |sum, (i, d)| sum | d << (18 - 6 * i));
            value.to_be_bytes()[1..four.len()].to_vec()
        })
        .collect()
}
