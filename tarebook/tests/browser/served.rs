//! A notebook that is served for a test: started on a free port of this machine, stopped when it is dropped.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// Sends a form; gives the status, or nothing if no answer came.
#[allow(dead_code, reason = "not every test sends forms itself")]
pub fn post(host: &str, path: &str, body: &str) -> Option<u16> {
    let mut stream = TcpStream::connect(host).ok()?;
    let length = body.len();
    let head = format!(
        "POST {path} HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n{body}"
    );
    stream.write_all(head.as_bytes()).ok()?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer).ok()?;
    answer.split(' ').nth(1)?.parse().ok()
}

/// A running server.
pub struct Served {
    child: Child,
    /// Address and port.
    pub host: String,
}

impl Served {
    /// Serves a folder on a free port.
    pub fn start(folder: &Path) -> Self {
        Self::start_at(folder, "0")
    }

    /// Serves a folder on this port.
    pub fn start_at(folder: &Path, port: &str) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_tarebook"))
            .args(["serve", "--json", "--port", port])
            .arg(folder)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        let mut told = String::new();
        let mut lines = BufReader::new(child.stdout.take().expect("its output"));
        while !told.contains("\"folder\"") {
            assert!(lines.read_line(&mut told).expect("a line") > 0, "it tells its address: {told}");
        }
        let host = told.split("http://").nth(1).and_then(|rest| rest.split('/').next()).expect("an address");
        Self { host: host.to_owned(), child }
    }

    /// Its number among the programs of this machine.
    #[allow(dead_code, reason = "only the benchmark looks at its memory")]
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Stops it at once, as a loss of power would.
    pub fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.kill();
    }
}
