//! The page of a run while it is recorded: the moment and the course, pushed as server-sent events.

use std::convert::Infallible;
use std::net::Ipv4Addr;
use std::sync::mpsc::sync_channel;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::middleware::{self, Next};
use axum::response::IntoResponse;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::routing::get;
use futures_util::stream::{Stream, unfold};
use tokio::sync::watch;

use super::{assets, guard};
use crate::commands::record::shown::{Course, Point, Shown};
use crate::outcome::Failure;

/// What every listener finds.
#[derive(Default)]
struct Stand {
    shown: Option<Shown>,
    points: Vec<Point>,
    thinned: u64,
}

struct Desk {
    stand: Mutex<Stand>,
    news: watch::Sender<u64>,
}

impl Desk {
    fn stand(&self) -> MutexGuard<'_, Stand> {
        self.stand.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The page; it goes with the program.
pub struct LivePage {
    desk: Arc<Desk>,
    address: String,
}

impl LivePage {
    /// Serves on the loopback address, on a thread of its own.
    ///
    /// # Errors
    /// When the port cannot be had.
    pub fn start(port: u16) -> Result<Self, Failure> {
        let refuse = |error: &dyn std::fmt::Display| {
            Failure::bad_input(format!("port {port}: {error}; choose another with --port"))
        };
        let desk = Arc::new(Desk { stand: Mutex::default(), news: watch::Sender::new(0) });
        let listener =
            std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(|error| refuse(&error))?;
        let port = listener.local_addr().map_err(|error| refuse(&error))?.port();
        let (sender, started) = sync_channel::<std::io::Result<()>>(1);
        let served = Arc::clone(&desk);
        let work = move || {
            let made = tokio::runtime::Builder::new_current_thread().enable_all().build();
            let runtime = match made {
                Ok(runtime) => runtime,
                Err(error) => return drop(sender.send(Err(error))),
            };
            runtime.block_on(async {
                let listening =
                    listener.set_nonblocking(true).and_then(|()| tokio::net::TcpListener::from_std(listener));
                match listening {
                    Ok(listener) => {
                        drop(sender.send(Ok(())));
                        // The recording goes on without its page.
                        drop(axum::serve(listener, router(served, port)).await);
                    }
                    Err(error) => drop(sender.send(Err(error))),
                }
            });
        };
        thread::Builder::new().name("page".to_owned()).spawn(work).map_err(|error| refuse(&error))?;
        match started.recv() {
            Ok(Ok(())) => Ok(Self { desk, address: format!("http://127.0.0.1:{port}/") }),
            Ok(Err(error)) => Err(refuse(&error)),
            Err(_) => Err(refuse(&"the page could not be started")),
        }
    }

    /// Where it is.
    #[must_use]
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Takes over how things are and tells every listener.
    pub fn show(&self, shown: &Shown, course: &Course) {
        let mut stand = self.desk.stand();
        stand.shown = Some(shown.clone());
        if course.thinned == stand.thinned {
            let known = stand.points.len();
            stand.points.extend_from_slice(course.points().get(known..).unwrap_or_default());
        } else {
            stand.points = course.points().to_vec();
            stand.thinned = course.thinned;
        }
        drop(stand);
        self.desk.news.send_modify(|news| *news += 1);
    }
}

fn router(desk: Arc<Desk>, port: u16) -> Router {
    Router::new()
        .route("/", get(|| async { assets::answer("live.html") }))
        .route("/{name}", get(|Path(name): Path<String>| async move { assets::answer(&name) }))
        .route("/api/live", get(live))
        .with_state(desk)
        .layer(middleware::from_fn(move |request: Request, next: Next| guard(port, request, next)))
}

async fn live(State(desk): State<Arc<Desk>>) -> impl IntoResponse {
    let listener =
        Listener { news: desk.news.subscribe(), desk, sent: 0, thinned: 0, begun: false, points_next: true };
    Sse::new(events(listener)).keep_alive(KeepAlive::default())
}

struct Listener {
    desk: Arc<Desk>,
    news: watch::Receiver<u64>,
    sent: usize,
    thinned: u64,
    begun: bool,
    points_next: bool,
}

/// Points first, `anew` where all of them come, then the moment; then the next news are waited for.
fn events(listener: Listener) -> impl Stream<Item = Result<Event, Infallible>> {
    unfold(listener, |mut listener| async move {
        loop {
            if listener.points_next {
                listener.points_next = false;
                if let Some(event) = listener.points() {
                    return Some((Ok(event), listener));
                }
            } else {
                listener.points_next = true;
                if let Some(event) = listener.moment() {
                    return Some((Ok(event), listener));
                }
            }
            if listener.points_next {
                listener.news.changed().await.ok()?;
            }
        }
    })
}

impl Listener {
    fn points(&mut self) -> Option<Event> {
        let stand = self.desk.stand();
        let anew = !self.begun || stand.thinned != self.thinned;
        let from = if anew { 0 } else { self.sent };
        let fresh = stand.points.get(from..).unwrap_or_default();
        if fresh.is_empty() && !anew {
            return None;
        }
        let event = Event::default().event(if anew { "anew" } else { "points" }).json_data(fresh).ok();
        (self.sent, self.thinned, self.begun) = (stand.points.len(), stand.thinned, true);
        event
    }

    fn moment(&mut self) -> Option<Event> {
        // What is told now need not be waited for.
        self.news.mark_unchanged();
        let stand = self.desk.stand();
        Event::default().event("moment").json_data(stand.shown.as_ref()?).ok()
    }
}
