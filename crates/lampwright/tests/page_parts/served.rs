//! The program, serving a lamp folder.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};

use serde_json::Value;

use crate::browser::plain_request;

/// The program serving a folder; it ends with this value.
pub struct Served {
    child: Child,
    pub address: String,
    pub host: String,
    /// What it has said on the terminal so far.
    pub said: Arc<Mutex<String>>,
    _folder: Option<tempfile::TempDir>,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Serves the demo from a scratch folder.
pub fn serve_demo() -> Served {
    let files = lampwright::demo::files();
    serve_files(files.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice())))
}

/// Serves files from a scratch folder.
pub fn serve_files<'a>(files: impl IntoIterator<Item = (&'a str, &'a [u8])>) -> Served {
    let folder = tempfile::tempdir().unwrap();
    for (path, bytes) in files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    let mut served = serve_folder(folder.path());
    served._folder = Some(folder);
    served
}

/// Serves a folder where it lies.
pub fn serve_folder(folder: &Path) -> Served {
    let mut child = Command::new(env!("CARGO_BIN_EXE_lampwright"))
        .args(["serve", "--no-open"])
        .arg(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let said = Arc::new(Mutex::new(String::new()));
    let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
    let kept = Arc::clone(&said);
    let keep = move |line: &str| {
        let mut said = kept.lock().unwrap();
        said.push_str(line);
        said.push('\n');
    };
    let address = lines
        .by_ref()
        .map_while(Result::ok)
        .inspect(|line| keep(line))
        .find_map(|line| line.split_whitespace().find(|word| word.starts_with("http://")).map(str::to_owned))
        .expect("the program tells its address");
    std::thread::spawn(move || lines.map_while(Result::ok).for_each(|line| keep(&line)));
    let host = address.trim_start_matches("http://").trim_end_matches('/').to_owned();
    Served { child, address, host, said, _folder: None }
}

impl Served {
    /// Interrupts the program as Ctrl+C does, and waits until it has ended; whether it ended well.
    #[cfg(unix)]
    pub fn interrupt(&mut self) -> bool {
        let told = Command::new("kill").args(["-INT", &self.child.id().to_string()]).status().unwrap();
        assert!(told.success());
        self.child.wait().unwrap().success()
    }

    /// The JSON answer to a question; whole answers are one piece.
    pub fn json(&self, path: &str) -> Value {
        let answer = plain_request(&self.host, "GET", path, &self.host);
        let body = answer.split_once("\r\n\r\n").unwrap().1;
        let (begin, end) = (body.find('{').unwrap(), body.rfind('}').unwrap());
        serde_json::from_str(&body[begin..=end])
            .unwrap_or_else(|error| panic!("{error}: {}", &body[..300.min(body.len())]))
    }

    /// The run and picture that answer a question.
    pub fn solved(&self, query: &str) -> Value {
        self.json(&format!("/api/solve?{query}"))
    }
}

/// The demo in a folder that may be written to.
pub fn write_demo(folder: &Path) {
    for (path, bytes) in lampwright::demo::files() {
        let path = folder.join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
}
