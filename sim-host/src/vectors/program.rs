//! A program under test: started, asked line by line with a time limit, started again if it fails.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

/// Longest answer that is read, bytes; the longest expected one has about 20 000.
const LONGEST_ANSWER: u64 = 4_000_000;

/// How patient a check is.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Longest time for one answer.
    pub answer: Duration,
    /// So many times the program may end or hang before the check gives up.
    pub restarts: u32,
}

/// Why a program cannot be checked.
#[derive(Debug, thiserror::Error)]
pub enum ProgramError {
    /// No command.
    #[error("--command is empty: give the program to check, such as \"./port\"")]
    Empty,
    /// It cannot be started.
    #[error(
        "cannot start '{command}': {cause}. Give its path, such as \"./port\"; arguments follow after blanks"
    )]
    Start {
        /// The command.
        command: String,
        /// What the system said.
        cause: std::io::Error,
    },
    /// It failed to answer too often.
    #[error(
        "'{command}' ended or gave no answer {times} times; see docs/vectors.md for the protocol, and try one stage with --only"
    )]
    GaveUp {
        /// The command.
        command: String,
        /// How often.
        times: u32,
    },
}

/// Why there was no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Silence {
    /// Too slow.
    #[error("no answer within {} s", .0.as_secs_f64())]
    Late(Duration),
    /// It ended.
    #[error("the program ended without an answer")]
    Ended,
    /// The line is longer than any answer.
    #[error("the answer is longer than {LONGEST_ANSWER} bytes")]
    Endless,
}

/// A running program under test.
#[derive(Debug)]
pub struct Program {
    command: String,
    limits: Limits,
    failures: u32,
    child: Child,
    requests: Sender<String>,
    answers: Receiver<Result<String, Silence>>,
}

impl Program {
    /// Starts a command: a path, then arguments, separated by blanks. No shell is involved.
    ///
    /// # Errors
    /// [`ProgramError`] if it cannot be started.
    pub fn start(command: &str, limits: Limits) -> Result<Self, ProgramError> {
        let (child, requests, answers) = spawn(command)?;
        Ok(Self {
            command: command.to_owned(),
            limits,
            failures: 0,
            child,
            requests,
            answers,
        })
    }

    /// Asks for the answer to one request line.
    ///
    /// # Errors
    /// `Silence` if none came in time; the program must then be started again.
    pub fn ask(&mut self, request: String) -> Result<String, Silence> {
        // If the program has ended, so have its answers.
        let _ = self.requests.send(request);
        match self.answers.recv_timeout(self.limits.answer) {
            Ok(answer) => answer,
            Err(RecvTimeoutError::Timeout) => Err(Silence::Late(self.limits.answer)),
            Err(RecvTimeoutError::Disconnected) => Err(Silence::Ended),
        }
    }

    /// Ends the program and starts it again.
    ///
    /// # Errors
    /// [`ProgramError::GaveUp`] after too many times.
    pub fn restart(&mut self) -> Result<(), ProgramError> {
        self.failures += 1;
        if self.failures > self.limits.restarts {
            return Err(ProgramError::GaveUp {
                command: self.command.clone(),
                times: self.failures,
            });
        }
        end(&mut self.child);
        (self.child, self.requests, self.answers) = spawn(&self.command)?;
        Ok(())
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        end(&mut self.child);
    }
}

fn end(child: &mut Child) {
    // It may have ended by itself.
    let _ = child.kill();
    let _ = child.wait();
}

type Running = (Child, Sender<String>, Receiver<Result<String, Silence>>);

fn spawn(command: &str) -> Result<Running, ProgramError> {
    let mut words = command.split_whitespace();
    let path = words.next().ok_or(ProgramError::Empty)?;
    let cannot = |cause| ProgramError::Start {
        command: command.to_owned(),
        cause,
    };
    let mut child = Command::new(path)
        .args(words)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(cannot)?;
    let missing = || cannot(std::io::Error::other("no pipe"));
    let mut input = child.stdin.take().ok_or_else(missing)?;
    let mut output = BufReader::new(child.stdout.take().ok_or_else(missing)?);
    let (requests, to_write) = channel::<String>();
    let (to_read, answers) = channel();
    // Writing has a thread of its own: a program that does not read must not hold up the check.
    std::thread::spawn(move || {
        for mut line in to_write {
            line.push('\n');
            if input
                .write_all(line.as_bytes())
                .and_then(|()| input.flush())
                .is_err()
            {
                break;
            }
        }
    });
    std::thread::spawn(move || {
        loop {
            let answer = read_line(&mut output);
            let goes_on = answer.is_ok();
            if to_read.send(answer).is_err() || !goes_on {
                break;
            }
        }
    });
    Ok((child, requests, answers))
}

fn read_line(output: &mut impl BufRead) -> Result<String, Silence> {
    let mut line = Vec::new();
    match output.take(LONGEST_ANSWER).read_until(b'\n', &mut line) {
        Ok(n) if n > 0 && line.ends_with(b"\n") => Ok(String::from_utf8_lossy(&line).into_owned()),
        Ok(n) if u64::try_from(n) == Ok(LONGEST_ANSWER) => Err(Silence::Endless),
        _ => Err(Silence::Ended),
    }
}
