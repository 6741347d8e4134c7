//! Asks Python with the reference libraries of tests/outside/requirements.txt, and makes numbers to ask about.

use std::io::Write as _;
use std::process::{Command, Stdio};

use serde_json::Value;

/// What the Python script of this name answers, from the libraries of tests/outside/requirements.txt.
pub(crate) fn ask(script: &str, question: &Value) -> Value {
    let python = std::env::var("BREDE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let mut child = Command::new(python)
        .arg(format!("{}/tests/outside/{script}", env!("CARGO_MANIFEST_DIR")))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(question.to_string().as_bytes()).unwrap();
    let done = child.wait_with_output().unwrap();
    assert!(done.status.success(), "{script} failed");
    serde_json::from_slice(&done.stdout).unwrap()
}

/// Numbers that look random and are the same every time (Marsaglia 2003, xorshift).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn roll(&mut self, sides: u64) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % sides) as usize
    }
}
