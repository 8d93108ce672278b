//! Stopping long work from the keyboard.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

/// A flag that the first Ctrl-C sets; a second one ends the program at once.
pub fn stop_flag() -> Arc<AtomicBool> {
    let flag = Arc::new(AtomicBool::new(false));
    let raised = Arc::clone(&flag);
    // Where no thread or signal can be had, Ctrl-C ends the program as it would anyway.
    let _ = thread::Builder::new().name("keyboard".to_owned()).spawn(move || listen(&raised));
    flag
}

fn listen(raised: &AtomicBool) {
    let Ok(runtime) = tokio::runtime::Builder::new_current_thread().enable_io().build() else { return };
    runtime.block_on(async {
        if tokio::signal::ctrl_c().await.is_ok() {
            raised.store(true, Ordering::Relaxed);
        }
        if tokio::signal::ctrl_c().await.is_ok() {
            std::process::exit(130);
        }
    });
}
