//! The local web page: served on the loopback address, from what is compiled in; nothing comes from elsewhere.

mod answers;
mod assets;
mod at_work;
mod bench_desk;
mod cooling_asked;
mod judged;
pub mod live;
mod plan_desk;
mod question;
mod reread;
mod shop;

use std::net::Ipv4Addr;
use std::sync::Arc;

use axum::Router;
use axum::extract::{Query, Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use bench::run::LogFolder;

use answers::Trouble;
use at_work::{AtWork, Working};
use bench_desk::{AskedBench, AskedTrace, BenchDesk, Kept};
use judged::Judged;
use plan_desk::{AskedPlan, PlanDesk};
use question::Asked;
use reread::Reread;

use crate::bench_answer::{Benched, HOW_TO_ADD_LOGS, csv};

/// What every request finds.
struct Desk<F> {
    lamp: Reread<F>,
    judged: Judged,
    plan: PlanDesk,
    at_work: Arc<AtWork>,
    bench: BenchDesk,
}

/// Serves the page of a lamp folder until `stop` ends; `ready` is told the address once it listens.
///
/// # Errors
/// When the port cannot be had.
pub fn serve(
    folder: impl LogFolder + Send + Sync + 'static,
    threads: usize,
    port: u16,
    ready: impl FnOnce(&str),
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), std::io::Error> {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?;
    let served = runtime.block_on(async {
        let listener = tokio::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await?;
        let port = listener.local_addr()?.port();
        ready(&format!("http://127.0.0.1:{port}/"));
        let desk = Arc::new(Desk {
            lamp: Reread::new(folder, threads),
            judged: Judged::default(),
            plan: PlanDesk::default(),
            at_work: Arc::default(),
            bench: BenchDesk::default(),
        });
        let at_work = Arc::clone(&desk.at_work);
        let stop = async move {
            stop.await;
            at_work.close();
        };
        axum::serve(listener, router(desk, port)).with_graceful_shutdown(stop).await
    });
    // What does not look at its flag for a while, such as laying a grid, is not waited for.
    runtime.shutdown_background();
    served
}

fn router<F: LogFolder + Send + Sync + 'static>(desk: Arc<Desk<F>>, port: u16) -> Router {
    Router::new()
        .route("/", get(|| async { assets::answer("index.html") }))
        .route(
            "/{name}",
            get(
                |axum::extract::Path(name): axum::extract::Path<String>| async move { assets::answer(&name) },
            ),
        )
        .route("/api/lamp", get(lamp::<F>))
        .route("/api/solve", get(solve::<F>))
        .route("/api/contact", get(contact::<F>))
        .route("/api/air", get(air::<F>))
        .route("/api/verdict", get(verdict::<F>))
        .route("/api/plan", get(plan::<F>))
        .route("/api/work", get(work::<F>))
        .route("/api/bench", get(bench_findings::<F>))
        .route("/api/bench/trace", get(bench_trace::<F>))
        .route("/bench.json", get(bench_json::<F>))
        .route("/plateaus.csv", get(plateaus_csv::<F>))
        .route("/comparison.csv", get(comparison_csv::<F>))
        .with_state(desk)
        .layer(middleware::from_fn(move |request: Request, next: Next| guard(port, request, next)))
}

/// Answers only requests meant for this machine's loopback address, so that no other site can ask through a browser.
async fn guard(port: u16, request: Request, next: Next) -> Response {
    let host = request.headers().get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let own = [format!("127.0.0.1:{port}"), format!("localhost:{port}"), format!("[::1]:{port}")];
    if !own.iter().any(|known| known == host) {
        return (StatusCode::FORBIDDEN, "This page answers only to the machine it runs on.\n")
            .into_response();
    }
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    let policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(policy));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}

/// The lamp as its folder has it now: a page that is loaded anew shows what was changed meanwhile.
async fn lamp<F: LogFolder + Send + Sync + 'static>(State(desk): State<Arc<Desk<F>>>) -> Response {
    match tokio::task::spawn_blocking(move || desk.lamp.again().about()).await {
        Ok(about) => answers::json(&about),
        Err(_) => Trouble::fault("the reading broke off; the terminal may say why").into_response(),
    }
}

/// A dropped connection drops this future and with it `waiting`: the work stops.
async fn solve<F: LogFolder + Send + Sync + 'static>(
    State(desk): State<Arc<Desk<F>>>,
    Query(asked): Query<Asked>,
) -> Response {
    let (waiting, working) = desk.at_work.begin(&asked.asked_as, &asked.variant);
    let shop = desk.lamp.shop();
    let worked = tokio::task::spawn_blocking(move || shop.solve(&asked, &working)).await;
    drop(waiting);
    match worked {
        Ok(Ok(answer)) => answers::json(&answer),
        Ok(Err(trouble)) => trouble.into_response(),
        Err(_) => Trouble::fault("the calculation broke off; the terminal may say why").into_response(),
    }
}

/// What changes of the contact would do; stopped as `solve` is.
async fn contact<F: LogFolder + Send + Sync + 'static>(
    State(desk): State<Arc<Desk<F>>>,
    Query(asked): Query<Asked>,
) -> Response {
    let (asked_as, variant) = (asked.asked_as.clone(), asked.variant.clone());
    worked(desk, &asked_as, &variant, move |desk, working| {
        Ok(answers::json(&desk.lamp.shop().contact(&asked, working)?))
    })
    .await
}

/// What changes of the cooling would do; stopped as `solve` is.
async fn air<F: LogFolder + Send + Sync + 'static>(
    State(desk): State<Arc<Desk<F>>>,
    Query(asked): Query<Asked>,
) -> Response {
    let (asked_as, variant) = (asked.asked_as.clone(), asked.variant.clone());
    worked(desk, &asked_as, &variant, move |desk, working| {
        Ok(answers::json(&desk.lamp.shop().air(&asked, working)?))
    })
    .await
}

/// Fit and verdict of all variants; stopped as `solve` is.
async fn verdict<F: LogFolder + Send + Sync + 'static>(
    State(desk): State<Arc<Desk<F>>>,
    Query(asked): Query<Asked>,
) -> Response {
    let (waiting, working) = desk.at_work.begin(&asked.asked_as, "");
    let worked = tokio::task::spawn_blocking(move || desk.judged.judge(desk.lamp.folder(), &working)).await;
    drop(waiting);
    match worked {
        Ok(Ok(answer)) => answers::json(&*answer),
        Ok(Err(trouble)) => trouble.into_response(),
        Err(_) => Trouble::fault("the calculation broke off; the terminal may say why").into_response(),
    }
}

/// The plan of the bench test; stopped as `solve` is.
async fn plan<F: LogFolder + Send + Sync + 'static>(
    State(desk): State<Arc<Desk<F>>>,
    Query(asked): Query<AskedPlan>,
) -> Response {
    let asked_as = asked.asked_as.clone();
    worked(desk, &asked_as, "", move |desk, working| {
        Ok(answers::json(&desk.plan.plan(desk.lamp.folder(), &asked, working)?))
    })
    .await
}

async fn work<F: LogFolder + Send + Sync + 'static>(State(desk): State<Arc<Desk<F>>>) -> Response {
    answers::json(&answers::Work { at_work: desk.at_work.told() })
}

/// Does work that stops with the connection that waits for it.
async fn worked<F: LogFolder + Send + Sync + 'static>(
    desk: Arc<Desk<F>>,
    asked_as: &str,
    about: &str,
    work: impl FnOnce(&Desk<F>, &Working) -> Result<Response, Trouble> + Send + 'static,
) -> Response {
    let (waiting, working) = desk.at_work.begin(asked_as, about);
    let worked = tokio::task::spawn_blocking(move || work(&desk, &working)).await;
    drop(waiting);
    match worked {
        Ok(Ok(answer)) => answer,
        Ok(Err(trouble)) => trouble.into_response(),
        Err(_) => Trouble::fault("the reading broke off; the terminal may say why").into_response(),
    }
}

fn findings<F: LogFolder + Send + Sync + 'static>(
    desk: &Desk<F>,
    working: &Working,
) -> Result<Arc<Kept>, Trouble> {
    let (shop, seen) = (desk.lamp.shop(), desk.lamp.seen());
    desk.bench.findings(desk.lamp.folder(), shop.lamp(), seen, working)
}

async fn bench_findings<F: LogFolder + Send + Sync + 'static>(
    State(desk): State<Arc<Desk<F>>>,
    Query(asked): Query<AskedBench>,
) -> Response {
    worked(desk, &asked.asked_as, "", |desk, working| Ok(answers::json(&findings(desk, working)?.answer())))
        .await
}

async fn bench_trace<F: LogFolder + Send + Sync + 'static>(
    State(desk): State<Arc<Desk<F>>>,
    Query(asked): Query<AskedTrace>,
) -> Response {
    let asked_as = asked.asked_as.clone();
    worked(desk, &asked_as, "", move |desk, working| {
        let shop = desk.lamp.shop();
        let lamp = shop.lamp().ok_or_else(|| Trouble::plain("the lamp has errors"))?;
        Ok(answers::json(&desk.bench.trace(desk.lamp.folder(), lamp, &asked, working)?))
    })
    .await
}

/// A file of the findings to be kept.
async fn download<F: LogFolder + Send + Sync + 'static>(
    desk: Arc<Desk<F>>,
    kind: &'static str,
    text: fn(&Benched) -> Option<String>,
) -> Response {
    worked(desk, "", "", move |desk, working| {
        let kept = findings(desk, working)?;
        let text = kept.benched.as_ref().and_then(text);
        let text =
            text.ok_or_else(|| Trouble::plain(format!("there are no findings yet: {HOW_TO_ADD_LOGS}")))?;
        Ok(([(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, "attachment")], text)
            .into_response())
    })
    .await
}

async fn bench_json<F: LogFolder + Send + Sync + 'static>(State(desk): State<Arc<Desk<F>>>) -> Response {
    download(desk, "application/json", |benched| serde_json::to_string_pretty(&benched.json()).ok()).await
}

async fn plateaus_csv<F: LogFolder + Send + Sync + 'static>(State(desk): State<Arc<Desk<F>>>) -> Response {
    download(desk, "text/csv; charset=utf-8", |benched| Some(csv::plateaus(&benched.found))).await
}

async fn comparison_csv<F: LogFolder + Send + Sync + 'static>(State(desk): State<Arc<Desk<F>>>) -> Response {
    download(desk, "text/csv; charset=utf-8", |benched| Some(csv::comparison(&benched.found))).await
}
