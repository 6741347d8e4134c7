//! The child, as seen by its parent.

use std::io::{self, Read as _};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::time::{Duration, Instant};

use super::limits::SPENT;
use super::{Answer, Ask, Program, receive, send};
use crate::ground::progress::{Progress, ask};
use crate::reading::ProofError;

/// The largest answer: a byte a pixel of the largest page.
const MOST_ANSWER: u64 = 100_000_000;

/// How often a wish to stop is looked for.
const OFTEN: Duration = Duration::from_millis(20);

/// How long a child that talks no more may take to end by itself.
const ENDING: Duration = Duration::from_secs(1);

/// So much is kept of what a child says when it falls.
const MOST_SAID: u64 = 4096;

/// A question, with its body.
type Question = (Ask, Arc<Vec<u8>>);

/// A child that reads a file. It is ended when this is dropped.
#[derive(Debug)]
pub(in crate::reading) struct Servant {
    child: Child,
    questions: SyncSender<Question>,
    answers: Receiver<io::Result<(Answer, Vec<u8>)>>,
    said: Receiver<Vec<u8>>,
}

impl Servant {
    /// Begins a child that has nothing of this process but three pipes.
    pub(in crate::reading) fn begin(program: &Program) -> Result<Self, ProofError> {
        let mut command = Command::new(&program.path);
        command.args(&program.arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        // Windows needs some of its variables for a process to begin at all.
        #[cfg(unix)]
        command.env_clear().current_dir("/");
        let mut child = command.spawn().map_err(ProofError::Process)?;
        let pipes = (child.stdin.take(), child.stdout.take(), child.stderr.take());
        let (questions, asked) = sync_channel::<Question>(1);
        let (answer, answers) = sync_channel(1);
        let (tell, said) = sync_channel(1);
        let begun = (|| {
            let (Some(mut input), Some(mut output), Some(error)) = pipes else {
                return Err(io::ErrorKind::BrokenPipe.into());
            };
            let thread = |name: &str| std::thread::Builder::new().name(name.to_owned());
            thread("brede asks").spawn(move || {
                for (head, body) in asked {
                    let talk =
                        send(&mut input, &head, &body).and_then(|()| receive(&mut output, MOST_ANSWER));
                    let is_over = talk.is_err();
                    if answer.send(talk).is_err() || is_over {
                        return;
                    }
                }
            })?;
            thread("brede hears").spawn(move || {
                let mut last = Vec::new();
                _ = error.take(MOST_SAID).read_to_end(&mut last);
                _ = tell.send(last);
            })
        })();
        match begun {
            Ok(_) => Ok(Self { child, questions, answers, said }),
            Err(error) => {
                _ = child.kill();
                _ = child.wait();
                Err(ProofError::Process(error))
            }
        }
    }

    /// Asks a question. After an error, nothing more can be asked.
    pub(in crate::reading) fn ask(
        &mut self,
        head: Ask,
        body: &Arc<Vec<u8>>,
        patience: Duration,
        progress: &dyn Progress,
    ) -> Result<(Answer, Vec<u8>), ProofError> {
        let memory = head.memory();
        let begun = Instant::now();
        if self.questions.send((head, Arc::clone(body))).is_err() {
            return Err(self.fell(memory));
        }
        loop {
            match self.answers.recv_timeout(OFTEN) {
                Ok(Ok((Answer::Refused(refusal), _))) => return Err(refusal.into()),
                Ok(Ok(answer)) => return Ok(answer),
                Ok(Err(error)) if error.kind() == io::ErrorKind::InvalidData => {
                    return Err(ProofError::Answer);
                }
                Ok(Err(_)) => return Err(self.fell(memory)),
                Err(_) => ask(progress)?,
            }
            if begun.elapsed() > patience {
                return Err(ProofError::TooLong { seconds: patience.as_secs() });
            }
        }
    }

    /// Why it answers no more.
    fn fell(&mut self, memory: u64) -> ProofError {
        let begun = Instant::now();
        let mut status: Option<ExitStatus> = None;
        while status.is_none() && begun.elapsed() < ENDING {
            status = self.child.try_wait().ok().flatten();
            std::thread::sleep(Duration::from_millis(2));
        }
        let said =
            if status.is_some() { self.said.recv_timeout(ENDING).unwrap_or_default() } else { Vec::new() };
        let is_spent = status.and_then(|status| status.code()) == Some(SPENT);
        // What Rust's own allocator says before it ends the process.
        if is_spent || String::from_utf8_lossy(&said).contains("memory allocation of") {
            return ProofError::Memory { limit: memory };
        }
        ProofError::Fell { how: status.map(|status| status.to_string()).unwrap_or_default() }
    }
}

impl Drop for Servant {
    fn drop(&mut self) {
        // One that has ended already cannot be ended, which is as well.
        _ = self.child.kill();
        _ = self.child.wait();
    }
}
