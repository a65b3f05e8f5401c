//! Measuring beside the requests: on at most half of the processor's cores, by turns, and only while somebody waits for it.
//!
//! Whoever asks has a lane; one question of a lane is worked on at a time, the others wait behind it. A core goes to the lane
//! that has used the least of late, and at the end of a short slice to another that has used less: a long piece of work
//! stands still, at a point where the referee asks whether to go on, until it is its lane's turn again. So a short question
//! waits for a slice and not for somebody's long one.

use std::collections::{BTreeMap, VecDeque};
use std::net::IpAddr;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use fieldpost_rules::interruption::{Interrupted, Interruption};
use thiserror::Error;
use tokio::sync::oneshot;
use tokio::task::{JoinError, spawn_blocking};

/// How long a lane keeps a core while another with less use of it waits.
const SLICE: Duration = Duration::from_millis(1);
/// What was used counts half as much after so long.
const HALVED_AFTER: Duration = Duration::from_secs(1);
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
    /// A lane that stood still may go on.
    resumed: Condvar,
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
            resumed: Condvar::new(),
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
            let worked = spawn_blocking(move || {
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
        self.0
            .lock()
            .lanes
            .values_mut()
            .for_each(|lane| lane.questions.clear());
        self.0.resumed.notify_all();
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
                    Next::GoesOn => {
                        self.resumed.notify_all();
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
    GoesOn,
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
            return Next::GoesOn;
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
            let waited = shared.resumed.wait(state);
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

#[cfg(test)]
mod tests {
    use super::*;

    use std::sync::atomic::AtomicUsize;

    use tokio::task::JoinSet;

    const LONG: Duration = Duration::from_secs(60);

    fn key(name: &str) -> Asker {
        Asker::Key(name.to_owned())
    }

    /// Works until told to end, or until something has come about.
    fn until(
        came_about: Arc<AtomicBool>,
    ) -> impl FnOnce(&Interruption) -> Result<(), Interrupted> + Send + 'static {
        move |interruption| {
            while !came_about.load(Ordering::Relaxed) {
                if interruption.is_due() {
                    return Err(Interrupted);
                }
            }
            Ok(())
        }
    }

    fn slices(interruption: &Interruption, slices: u32) -> Result<(), Interrupted> {
        let began = Instant::now();
        while began.elapsed() < slices * SLICE {
            if interruption.is_due() {
                return Err(Interrupted);
            }
        }
        Ok(())
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 4)]
    async fn no_more_run_at_once_than_there_are_cores_for_it() {
        for cores in [1, 2] {
            let measuring = Measuring::on(cores, LONG);
            let (now, most) = (Arc::new(AtomicUsize::new(0)), Arc::new(AtomicUsize::new(0)));
            let mut all = JoinSet::new();
            for name in 0..40 {
                let (measuring, now, most) = (measuring.clone(), now.clone(), most.clone());
                all.spawn(async move {
                    let asker = key(&(name % 10).to_string());
                    let work = measuring.run(asker, move |interruption| {
                        for _ in 0..5 {
                            let running = now.fetch_add(1, Ordering::SeqCst) + 1;
                            most.fetch_max(running, Ordering::SeqCst);
                            std::thread::yield_now();
                            now.fetch_sub(1, Ordering::SeqCst);
                            slices(interruption, 1)?;
                        }
                        Ok(())
                    });
                    work.await.expect("done");
                });
            }
            while let Some(done) = all.join_next().await {
                done.expect("no panic");
            }
            assert!(most.load(Ordering::SeqCst) <= cores);
        }
    }

    /// By construction: the long work ends only once the short has been done, on the one core there is.
    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn long_work_stands_still_while_a_short_question_of_another_is_answered() {
        let measuring = Measuring::on(1, LONG);
        let short_is_done = Arc::new(AtomicBool::new(false));
        let long = {
            let (measuring, done) = (measuring.clone(), short_is_done.clone());
            tokio::spawn(async move { measuring.run(key("long"), until(done)).await })
        };
        let begun = || measuring.0.lock().running == 1;
        while !begun() {
            tokio::task::yield_now().await;
        }
        let short = measuring.run(key("short"), |_| Ok(7)).await;
        assert_eq!(short.expect("answered"), 7);
        short_is_done.store(true, Ordering::Relaxed);
        long.await
            .expect("no panic")
            .expect("it went on to its end");
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn many_questions_of_one_key_wait_behind_its_own() {
        let measuring = Measuring::on(1, LONG);
        let order = Arc::new(Mutex::new(Vec::new()));
        let mut all = JoinSet::new();
        let mut ask = |name: &'static str| {
            let (measuring, order) = (measuring.clone(), order.clone());
            all.spawn(async move {
                let work = measuring.run(key(name), move |interruption| {
                    slices(interruption, 5)?;
                    order.lock().expect("no panic").push(name);
                    Ok(())
                });
                work.await.expect("done");
            });
        };
        for _ in 0..LANE_MAX {
            ask("many");
        }
        while measuring.0.lock().running == 0 {
            tokio::task::yield_now().await;
        }
        ask("one");
        while let Some(done) = all.join_next().await {
            done.expect("no panic");
        }
        let order = order.lock().expect("no panic");
        let place = order.iter().position(|name| *name == "one");
        assert!(place.expect("answered") <= 4, "{order:?}");
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn work_ends_when_its_asker_is_gone_its_time_is_out_or_the_server_stops() {
        let never = || Arc::new(AtomicBool::new(false));
        let is_free = |measuring: &Measuring| measuring.0.lock().begun == 0;
        let measuring = Measuring::on(1, LONG);
        let gone = tokio::time::timeout(
            Duration::from_millis(20),
            measuring.run(key("gone"), until(never())),
        );
        assert!(gone.await.is_err(), "it was dropped");
        while !is_free(&measuring) {
            tokio::task::yield_now().await;
        }

        let late = Measuring::on(1, Duration::from_millis(20));
        let ended = late.run(key("late"), until(never())).await;
        assert!(matches!(ended, Err(MeasuringError::Ended)), "{ended:?}");
        while !is_free(&late) {
            tokio::task::yield_now().await;
        }

        let mut all = JoinSet::new();
        for name in ["a", "b", "c", "c"] {
            let measuring = measuring.clone();
            all.spawn(async move { measuring.run(key(name), until(never())).await });
        }
        while measuring.0.lock().begun < 3 {
            tokio::task::yield_now().await;
        }
        measuring.close();
        while let Some(ended) = all.join_next().await {
            let ended = ended.expect("no panic");
            assert!(matches!(ended, Err(MeasuringError::Ended)), "{ended:?}");
        }
        while !is_free(&measuring) {
            tokio::task::yield_now().await;
        }
        let after = measuring.run(key("a"), |_| Ok(())).await;
        assert!(matches!(after, Err(MeasuringError::Ended)), "{after:?}");
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn so_many_questions_wait_and_no_more() {
        let measuring = Measuring::on(1, LONG);
        let is_over = Arc::new(AtomicBool::new(false));
        let mut all = JoinSet::new();
        let mut ask = |name: usize| {
            let (measuring, is_over) = (measuring.clone(), is_over.clone());
            all.spawn(async move { measuring.run(key(&name.to_string()), until(is_over)).await });
        };
        let waits = |measuring: &Measuring| -> usize {
            let state = measuring.0.lock();
            state.lanes.values().map(|lane| lane.questions.len()).sum()
        };
        for _ in 0..=LANE_MAX {
            ask(0);
        }
        while waits(&measuring) < LANE_MAX {
            tokio::task::yield_now().await;
        }
        let own = measuring.run(key("0"), |_| Ok(())).await;
        assert!(matches!(own, Err(MeasuringError::OwnQueueFull)), "{own:?}");
        measuring
            .run(key("other"), |_| Ok(()))
            .await
            .expect("answered");
        // One question of each lane is begun, the others wait.
        let mut lane = 1;
        while waits(&measuring) < WAITING_MAX {
            for _ in 0..=LANE_MAX {
                ask(lane);
            }
            lane += 1;
            for _ in 0..1000 {
                tokio::task::yield_now().await;
            }
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
        let all_full = measuring.run(key("new"), |_| Ok(())).await;
        assert!(
            matches!(all_full, Err(MeasuringError::QueueFull)),
            "{all_full:?}"
        );
        is_over.store(true, Ordering::Relaxed);
        while let Some(done) = all.join_next().await {
            // Those beyond the bound were told so.
            let _ = done.expect("no panic");
        }
        measuring
            .run(key("new"), |_| Ok(()))
            .await
            .expect("there is room again");
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn a_panic_gives_the_core_back() {
        let measuring = Measuring::on(1, LONG);
        let broken: Result<(), _> = measuring.run(key("a"), |_| panic!("as it happens")).await;
        assert!(matches!(broken, Err(MeasuringError::Panicked(_))));
        measuring
            .run(key("a"), |_| Ok(()))
            .await
            .expect("it goes on");
    }
}
