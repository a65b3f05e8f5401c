//! Bounds, turns and ends of measuring, shown by construction: no test here looks at a clock.

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
