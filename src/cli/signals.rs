//! What is done when the program is told to stop: a folder that is being built goes with it.

use crate::output::safe::remove_unfinished;
use std::process::exit;
use std::sync::mpsc::{Sender, channel};

/// From now on an interrupt or a request to end removes what is half built, and ends the program with the status that shells expect
/// (128 and the number of the signal). Where no thread can be had for it, the system's own habit stays, and the next run clears up.
pub fn clear_up_when_stopped() {
    let (ready, wait) = channel();
    let started = std::thread::Builder::new()
        .name("signals".into())
        .spawn(move || wait_for_signal(ready));
    if started.is_ok() {
        // Ends at once when the thread gives up.
        let _ = wait.recv();
    }
}

fn wait_for_signal(ready: Sender<()>) {
    let Ok(runtime) = tokio::runtime::Builder::new_current_thread().enable_all().build() else {
        return;
    };
    if let Some(status) = runtime.block_on(stopped(ready)) {
        remove_unfinished();
        exit(status);
    }
}

#[cfg(unix)]
async fn stopped(ready: Sender<()>) -> Option<i32> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut interrupt = signal(SignalKind::interrupt()).ok()?;
    let mut end = signal(SignalKind::terminate()).ok()?;
    let mut hang_up = signal(SignalKind::hangup()).ok()?;
    let _ = ready.send(());
    tokio::select! {
        _ = interrupt.recv() => Some(130),
        _ = end.recv() => Some(143),
        _ = hang_up.recv() => Some(129),
    }
}

#[cfg(not(unix))]
async fn stopped(ready: Sender<()>) -> Option<i32> {
    let _ = ready.send(());
    tokio::signal::ctrl_c().await.ok().map(|()| 130)
}
