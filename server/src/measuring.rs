//! Measuring beside the requests: on at most half of the processor's cores, by turns, and only while somebody waits for it.
//!
//! Whoever asks has a lane; one question of a lane is worked on at a time, the others wait behind it. A core goes to the lane
//! that has used the least of late, and at the end of a short slice to another that has used less: a long piece of work
//! stands still, at a point where the referee asks whether to go on, until it is its lane's turn again. So a short question
//! waits for a slice and not for somebody's long one.

#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, VecDeque};
use std::net::IpAddr;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use fieldpost_rules::interruption::{Interrupted, Interruption};
use thiserror::Error;
use tokio::runtime::{Builder, Runtime};
use tokio::sync::oneshot;
use tokio::task::JoinError;

/// How long a lane keeps a core while another with less use of it waits.
const SLICE: Duration = Duration::from_micros(250);
/// What was used counts half as much after so long.
const HALVED_AFTER: Duration = Duration::from_secs(1);
/// How nice the threads that measure are to others: 0 is usual, 19 the most.
#[cfg(target_os = "linux")]
const NICENESS: i32 = 10;
/// Questions of one lane that wait.
const LANE_MAX: usize = 24;
/// Questions of all lanes that wait.
const WAITING_MAX: usize = 256;
/// Questions begun at once: each has a thread, most of which stand still.
const BEGUN_MAX: usize = 128;

/// Whose question it is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Asker {
    /// The holder of a key, by its id.
    Key(String),
    /// Somebody without a key.
    Address(IpAddr),
    /// Those who watch games, together: their streams are bounded in number.
    Watchers,
    /// The server itself, for a notice or the answer to a change that was made.
    Server,
}

/// Why nothing was measured.
#[derive(Debug, Error)]
pub enum MeasuringError {
    /// The asker's own questions that wait are as many as may.
    #[error(
        "{LANE_MAX} questions of yours wait already. Wait for their answers, or hang up on those that you need no more."
    )]
    OwnQueueFull,
    /// Everybody's questions that wait are as many as may.
    #[error("too much waits to be measured")]
    QueueFull,
    /// It was not done in time, or the server stops.
    #[error("it was not measured in time")]
    Ended,
    /// It panicked.
    #[error("a measurement failed: {0}")]
    Panicked(#[from] JoinError),
}

/// Where measuring is done.
#[derive(Clone)]
pub struct Measuring(Arc<Shared>);

struct Shared {
    cores: usize,
    deadline: Duration,
    closing: AtomicBool,
    state: Mutex<State>,
    /// Threads of their own, since they give way to those that serve. There are none only once this is dropped.
    threads: Option<Runtime>,
}

struct State {
    lanes: BTreeMap<Asker, Lane>,
    /// How many have a core.
    running: usize,
    /// How many have a thread.
    begun: usize,
    halved_at: Instant,
}

#[derive(Default)]
struct Lane {
    /// Time used of late.
    used: Duration,
    questions: VecDeque<oneshot::Sender<Turn>>,
    stands: Stands,
    /// Where its question that stands still waits; told when it may go on. Nobody else is woken.
    resumed: Arc<Condvar>,
}

/// What the lane's question that was begun is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Stands {
    /// There is none.
    #[default]
    Free,
    Running,
    Still,
}

/// A core, for as long as this lives and between slices.
struct Turn {
    shared: Arc<Shared>,
    asker: Asker,
    /// When the slice began.
    began: Mutex<Instant>,
    /// Whether it was never begun and holds nothing any more.
    is_void: bool,
}

impl Measuring {
    /// On half of the cores, at least one. Whatever takes longer than `deadline` is ended.
    #[must_use]
    pub fn new(deadline: Duration) -> Self {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        Self::on(cores / 2, deadline)
    }

    fn on(cores: usize, deadline: Duration) -> Self {
        let state = State {
            lanes: BTreeMap::new(),
            running: 0,
            begun: 0,
            halved_at: Instant::now(),
        };
        Self(Arc::new(Shared {
            cores: cores.max(1),
            deadline,
            closing: AtomicBool::new(false),
            state: Mutex::new(state),
            threads: Some(threads()),
        }))
    }

    /// Does `work` when it is the asker's turn. It is ended when this future is dropped, at the deadline, and when the
    /// server stops.
    ///
    /// # Errors
    /// When too much waits already, it was ended, or it panicked.
    pub async fn run<T: Send + 'static>(
        &self,
        asker: Asker,
        work: impl FnOnce(&Interruption) -> Result<T, Interrupted> + Send + 'static,
    ) -> Result<T, MeasuringError> {
        let waiting = Waiting::default();
        let is_gone = Arc::clone(&waiting.is_gone);
        let done = async {
            let turn = self.0.ask(asker)?;
            let turn = Arc::new(turn.await.map_err(|_| MeasuringError::Ended)?);
            let threads = self.0.threads.as_ref().ok_or(MeasuringError::Ended)?;
            let worked = threads.spawn_blocking(move || {
                let own = Arc::clone(&turn);
                let ends = move || is_gone.load(Ordering::Relaxed) || own.must_end();
                let worked = work(&Interruption::when(ends));
                drop(turn);
                worked
            });
            worked.await?.map_err(|Interrupted| MeasuringError::Ended)
        };
        let done = tokio::time::timeout(self.0.deadline, done).await;
        drop(waiting);
        done.unwrap_or(Err(MeasuringError::Ended))
    }

    /// Ends everything, and lets nothing begin any more.
    pub fn close(&self) {
        self.0.closing.store(true, Ordering::Relaxed);
        // Those that wait hear of it by the end of what they wait for.
        for lane in self.0.lock().lanes.values_mut() {
            lane.questions.clear();
            lane.resumed.notify_one();
        }
    }
}

/// Threads for what is begun.
fn threads() -> Runtime {
    Builder::new_current_thread()
        .thread_name("measuring")
        .max_blocking_threads(BEGUN_MAX)
        .on_thread_start(give_way)
        .build()
        .expect("without timers and sockets it asks the system for nothing")
}

/// Lowers this thread's priority: where cores are few, answering goes before measuring.
fn give_way() {
    #[cfg(target_os = "linux")]
    if let Err(error) =
        rustix::process::setpriority_process(Some(rustix::thread::gettid()), NICENESS)
    {
        tracing::debug!(%error, "a measuring thread keeps its usual priority");
    }
}

/// Somebody waits for an answer while this lives.
#[derive(Default)]
struct Waiting {
    is_gone: Arc<AtomicBool>,
}

impl Drop for Waiting {
    fn drop(&mut self) {
        self.is_gone.store(true, Ordering::Relaxed);
    }
}

impl Drop for Shared {
    fn drop(&mut self) {
        // Whoever drops it last may be a task, which must not wait for threads.
        if let Some(threads) = self.threads.take() {
            threads.shutdown_background();
        }
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn is_closing(&self) -> bool {
        self.closing.load(Ordering::Relaxed)
    }

    /// Queues a question; what is given comes when it is its turn.
    fn ask(self: &Arc<Self>, asker: Asker) -> Result<oneshot::Receiver<Turn>, MeasuringError> {
        let (question, turn) = oneshot::channel();
        {
            let mut state = self.lock();
            if self.is_closing() {
                return Err(MeasuringError::Ended);
            }
            state.forget_the_idle();
            // Lanes of notices and places for watchers bound what these ask.
            let is_own = matches!(asker, Asker::Server | Asker::Watchers);
            let waiting: usize = state.lanes.values().map(|lane| lane.questions.len()).sum();
            let lane = state.lanes.entry(asker).or_default();
            if !is_own && lane.questions.len() >= LANE_MAX {
                return Err(MeasuringError::OwnQueueFull);
            }
            if !is_own && waiting >= WAITING_MAX {
                return Err(MeasuringError::QueueFull);
            }
            lane.questions.push_back(question);
        }
        self.hand_out();
        Ok(turn)
    }

    /// Gives free cores to those whose turn it is.
    fn hand_out(self: &Arc<Self>) {
        loop {
            let (question, asker) = {
                let mut state = self.lock();
                match state.next(self.cores) {
                    Next::Nobody => return,
                    Next::GoesOn(resumed) => {
                        resumed.notify_one();
                        continue;
                    }
                    Next::Begins(question, asker) => (question, asker),
                }
            };
            let turn = Turn {
                shared: Arc::clone(self),
                asker,
                began: Mutex::new(Instant::now()),
                is_void: false,
            };
            // Whoever has hung up leaves the core to the next.
            if let Err(mut turn) = question.send(turn) {
                self.lock().end(&turn.asker, Duration::ZERO);
                turn.is_void = true;
            }
        }
    }
}

/// Whose turn it is.
enum Next {
    Nobody,
    GoesOn(Arc<Condvar>),
    Begins(oneshot::Sender<Turn>, Asker),
}

impl State {
    /// Takes the core that is free, if one is, for the lane that has used the least.
    fn next(&mut self, cores: usize) -> Next {
        if self.running >= cores {
            return Next::Nobody;
        }
        let may_begin = self.begun < BEGUN_MAX;
        let ready = self
            .lanes
            .iter_mut()
            .filter(|(_, lane)| lane.is_ready(may_begin));
        let Some((asker, lane)) = ready.min_by_key(|(_, lane)| lane.used) else {
            return Next::Nobody;
        };
        let stood = std::mem::replace(&mut lane.stands, Stands::Running);
        self.running += 1;
        if stood == Stands::Still {
            return Next::GoesOn(Arc::clone(&lane.resumed));
        }
        let asker = asker.clone();
        self.begun += 1;
        match lane.questions.pop_front() {
            Some(question) => Next::Begins(question, asker),
            None => Next::Nobody,
        }
    }

    /// The lane's question that was begun is done.
    fn end(&mut self, asker: &Asker, used: Duration) {
        if let Some(lane) = self.lanes.get_mut(asker) {
            lane.used += used;
            lane.stands = Stands::Free;
        }
        self.running = self.running.saturating_sub(1);
        self.begun = self.begun.saturating_sub(1);
        self.halve();
    }

    /// Whether another lane that has used less could go on.
    fn another_is_before(&self, asker: &Asker) -> bool {
        let may_begin = self.begun < BEGUN_MAX;
        let used = self
            .lanes
            .get(asker)
            .map_or(Duration::ZERO, |lane| lane.used);
        self.lanes
            .values()
            .any(|lane| lane.is_ready(may_begin) && lane.used < used)
    }

    fn halve(&mut self) {
        while self.halved_at.elapsed() >= HALVED_AFTER {
            self.halved_at += HALVED_AFTER;
            for lane in self.lanes.values_mut() {
                lane.used /= 2;
                // After a long time without questions there is nothing to halve.
                if self.halved_at.elapsed() > 32 * HALVED_AFTER {
                    lane.used = Duration::ZERO;
                }
            }
            if self.halved_at.elapsed() > 32 * HALVED_AFTER {
                self.halved_at = Instant::now();
            }
        }
    }

    /// Questions whose askers hung up, and lanes that have nothing to do and have not had for long.
    fn forget_the_idle(&mut self) {
        self.halve();
        self.lanes.retain(|_, lane| {
            lane.questions.retain(|question| !question.is_closed());
            let is_idle = lane.questions.is_empty() && lane.stands == Stands::Free;
            !(is_idle && lane.used < SLICE)
        });
    }
}

impl Lane {
    fn is_ready(&self, may_begin: bool) -> bool {
        match self.stands {
            Stands::Running => false,
            Stands::Still => true,
            Stands::Free => may_begin && !self.questions.is_empty(),
        }
    }
}

impl Turn {
    /// Whether the work is to end. At the end of a slice it stands still here while others go first.
    fn must_end(&self) -> bool {
        let shared = &self.shared;
        if shared.is_closing() {
            return true;
        }
        let mut began = self.began.lock().unwrap_or_else(PoisonError::into_inner);
        let used = began.elapsed();
        if used < SLICE {
            return false;
        }
        let is_overtaken = {
            let mut state = shared.lock();
            state.halve();
            if let Some(lane) = state.lanes.get_mut(&self.asker) {
                lane.used += used;
            }
            let is_overtaken = state.another_is_before(&self.asker);
            if is_overtaken {
                state.running = state.running.saturating_sub(1);
                if let Some(lane) = state.lanes.get_mut(&self.asker) {
                    lane.stands = Stands::Still;
                }
            }
            is_overtaken
        };
        if is_overtaken {
            shared.hand_out();
            self.stand_still();
        }
        *began = Instant::now();
        shared.is_closing()
    }

    /// Waits for the lane's next turn, or for the end of everything.
    fn stand_still(&self) {
        let shared = &self.shared;
        let mut state = shared.lock();
        loop {
            let Some(lane) = state.lanes.get_mut(&self.asker) else {
                return;
            };
            if lane.stands == Stands::Running {
                return;
            }
            if shared.is_closing() {
                lane.stands = Stands::Running;
                state.running += 1;
                return;
            }
            let resumed = Arc::clone(&lane.resumed);
            let waited = resumed.wait(state);
            state = waited.unwrap_or_else(PoisonError::into_inner);
        }
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        if self.is_void {
            return;
        }
        let began = *self.began.get_mut().unwrap_or_else(PoisonError::into_inner);
        self.shared.lock().end(&self.asker, began.elapsed());
        self.shared.hand_out();
    }
}
