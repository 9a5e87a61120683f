//! Connections: how many there may be, and how long each may take over what it does.

use std::collections::HashMap;
use std::net::{IpAddr, SocketAddr};
use std::pin::{Pin, pin};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::time::{Instant, Sleep, sleep};
use tower::ServiceExt as _;

use crate::client::{Group, group};

/// How long clients are waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Patience {
    /// For the head of a request, and between two requests of a connection.
    pub head: Duration,
    /// The same while more than half of the connections are taken.
    pub head_in_need: Duration,
    /// For a body or an answer, beside what it takes at the lowest speed.
    pub grace: Duration,
    /// The lowest speed.
    pub bytes_per_second: u64,
}

impl Default for Patience {
    fn default() -> Self {
        Self {
            head: Duration::from_secs(20),
            head_in_need: Duration::from_secs(4),
            grace: Duration::from_secs(20),
            bytes_per_second: 8 * 1024,
        }
    }
}

impl Patience {
    /// How long so many bytes may take.
    pub(crate) fn for_bytes(self, bytes: u64) -> Duration {
        self.grace + Duration::from_millis(bytes.saturating_mul(1000) / self.bytes_per_second.max(1))
    }
}

/// How many connections there may be.
#[derive(Debug)]
pub(crate) struct Connections {
    all: usize,
    of_one: usize,
    free: Arc<Semaphore>,
    by_group: Mutex<HashMap<Group, usize>>,
}

/// One that is there.
struct Held {
    connections: Arc<Connections>,
    group: Option<Group>,
}

impl Drop for Held {
    fn drop(&mut self) {
        let Some(group) = self.group else { return };
        let mut by_group = self.connections.by_group.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = by_group.get_mut(&group) {
            *count -= 1;
            if *count == 0 {
                by_group.remove(&group);
            }
        }
    }
}

impl Connections {
    /// At most `all`, and of one address at most a quarter of them.
    pub(crate) fn new(all: usize) -> Self {
        let free = Arc::new(Semaphore::new(all));
        Self { all, of_one: (all / 4).max(1), free, by_group: Mutex::default() }
    }

    /// Nothing when that address has its share.
    fn hold(self: &Arc<Self>, address: IpAddr, shared: impl Fn(IpAddr) -> bool) -> Option<Held> {
        // This machine and a proxy speak for many.
        if address.is_loopback() || shared(address) {
            return Some(Held { connections: Arc::clone(self), group: None });
        }
        let group = group(address);
        let mut by_group = self.by_group.lock().unwrap_or_else(PoisonError::into_inner);
        let count = by_group.entry(group).or_default();
        if *count >= self.of_one {
            return None;
        }
        *count += 1;
        drop(by_group);
        Some(Held { connections: Arc::clone(self), group: Some(group) })
    }

    fn in_need(&self) -> bool {
        self.free.available_permits() * 2 < self.all
    }

    /// Done when no connection is left.
    pub(crate) async fn gone(&self) {
        let _ = self.free.acquire_many(u32::try_from(self.all).unwrap_or(u32::MAX)).await;
    }
}

/// Takes connections until `stop` says so, and answers them.
pub(crate) async fn accept(
    listener: TcpListener,
    router: Router,
    connections: Arc<Connections>,
    patience: Patience,
    shared: impl Fn(IpAddr) -> bool,
    mut stop: watch::Receiver<bool>,
) {
    loop {
        let free = Arc::clone(&connections.free);
        let permit = tokio::select! {
            permit = free.acquire_owned() => permit,
            () = stopped(&mut stop) => return,
        };
        let Ok(permit) = permit else { return };
        let (stream, peer) = tokio::select! {
            accepted = listener.accept() => match accepted {
                Ok(accepted) => accepted,
                Err(e) => {
                    // No more files, or the peer has gone again: the next may fare better.
                    tracing::warn!(error = %e, "a connection could not be taken");
                    sleep(Duration::from_millis(50)).await;
                    continue;
                }
            },
            () = stopped(&mut stop) => return,
        };
        let Some(held) = connections.hold(peer.ip(), &shared) else { continue };
        let head = if connections.in_need() { patience.head_in_need } else { patience.head };
        let (router, stop) = (router.clone(), stop.clone());
        tokio::spawn(async move {
            converse(stream, peer, router, head, patience, stop).await;
            drop((permit, held));
        });
    }
}

/// Done when the server is to stop.
async fn stopped(stop: &mut watch::Receiver<bool>) {
    // Without a sender it is to stop too.
    let _ = stop.wait_for(|s| *s).await;
}

/// Answers the requests of one connection.
async fn converse(
    stream: TcpStream,
    peer: SocketAddr,
    router: Router,
    head: Duration,
    patience: Patience,
    mut stop: watch::Receiver<bool>,
) {
    let _ = stream.set_nodelay(true);
    let service = hyper::service::service_fn(move |request: Request<Incoming>| {
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(ConnectInfo(peer));
        router.clone().oneshot(request)
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(head)
        .max_buf_size(64 * 1024)
        .serve_connection(TokioIo::new(Patient::new(stream, patience)), service);
    let mut connection = pin!(connection);
    // How it ended is its own affair.
    let ended = tokio::select! {
        _ = connection.as_mut() => true,
        () = stopped(&mut stop) => false,
    };
    if !ended {
        connection.as_mut().graceful_shutdown();
        let _ = connection.await;
    }
}

/// A stream that fails when its reader does not take what is written.
struct Patient<S> {
    inner: S,
    patience: Patience,
    /// Since when writing has waited, and how much went through since.
    waiting: Option<(Instant, u64)>,
    alarm: Option<Pin<Box<Sleep>>>,
}

impl<S> Patient<S> {
    fn new(inner: S, patience: Patience) -> Self {
        Self { inner, patience, waiting: None, alarm: None }
    }

    /// Writing waits: fails when it has done so for too long.
    fn stalled<T>(&mut self, cx: &mut Context<'_>) -> Poll<std::io::Result<T>> {
        let (since, sent) = *self.waiting.get_or_insert_with(|| (Instant::now(), 0));
        let deadline = since + self.patience.for_bytes(sent);
        let alarm = self.alarm.get_or_insert_with(|| Box::pin(tokio::time::sleep_until(deadline)));
        match alarm.as_mut().poll(cx) {
            Poll::Ready(()) => Poll::Ready(Err(std::io::ErrorKind::TimedOut.into())),
            Poll::Pending => Poll::Pending,
        }
    }

    fn sent(&mut self, bytes: usize) {
        self.alarm = None;
        if let Some((since, sent)) = &mut self.waiting {
            *sent += bytes as u64;
            // Who has caught up starts anew.
            if since.elapsed() < self.patience.for_bytes(*sent) - self.patience.grace {
                self.waiting = None;
            }
        }
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Patient<S> {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &mut ReadBuf<'_>) -> Poll<std::io::Result<()>> {
        Pin::new(&mut self.inner).poll_read(cx, buf)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Patient<S> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &[u8]) -> Poll<std::io::Result<usize>> {
        match Pin::new(&mut self.inner).poll_write(cx, buf) {
            Poll::Ready(Ok(n)) => {
                self.sent(n);
                Poll::Ready(Ok(n))
            }
            Poll::Ready(Err(e)) => Poll::Ready(Err(e)),
            Poll::Pending => self.stalled(cx),
        }
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bufs: &[std::io::IoSlice<'_>],
    ) -> Poll<std::io::Result<usize>> {
        match Pin::new(&mut self.inner).poll_write_vectored(cx, bufs) {
            Poll::Ready(Ok(n)) => {
                self.sent(n);
                Poll::Ready(Ok(n))
            }
            Poll::Ready(Err(e)) => Poll::Ready(Err(e)),
            Poll::Pending => self.stalled(cx),
        }
    }

    fn is_write_vectored(&self) -> bool {
        self.inner.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<std::io::Result<()>> {
        match Pin::new(&mut self.inner).poll_flush(cx) {
            Poll::Pending => self.stalled(cx),
            done => {
                // All of it has gone out: what comes next is another matter.
                (self.waiting, self.alarm) = (None, None);
                done
            }
        }
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<std::io::Result<()>> {
        match Pin::new(&mut self.inner).poll_shutdown(cx) {
            Poll::Pending => self.stalled(cx),
            done => done,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};

    #[tokio::test]
    async fn a_reader_that_takes_nothing_or_drips_is_given_up() {
        let patience = Patience { grace: Duration::from_millis(300), bytes_per_second: 1000, ..Patience::default() };
        for drip in [false, true] {
            let (ours, mut theirs) = tokio::io::duplex(100);
            let reader = tokio::spawn(async move {
                let mut byte = [0; 1];
                while drip && theirs.read(&mut byte).await.is_ok_and(|n| n > 0) {
                    sleep(Duration::from_millis(50)).await;
                }
                std::future::pending::<()>().await;
            });
            let since = Instant::now();
            let error = Patient::new(ours, patience).write_all(&[0; 10_000]).await.unwrap_err();
            assert_eq!(error.kind(), std::io::ErrorKind::TimedOut);
            assert!(since.elapsed() < Duration::from_secs(5), "{:?}", since.elapsed());
            reader.abort();
        }
    }

    #[tokio::test]
    async fn a_reader_at_a_fair_speed_is_waited_for() {
        let patience = Patience { grace: Duration::from_secs(3), bytes_per_second: 1000, ..Patience::default() };
        let (ours, mut theirs) = tokio::io::duplex(1000);
        let reader = tokio::spawn(async move {
            let (mut all, mut buffer) = (0, [0; 1500]);
            while let Ok(n @ 1..) = theirs.read(&mut buffer).await {
                all += n;
                sleep(Duration::from_millis(n as u64 / 3)).await;
            }
            all
        });
        let mut ours = Patient::new(ours, patience);
        ours.write_all(&[0; 4_000]).await.unwrap();
        drop(ours);
        assert_eq!(reader.await.unwrap(), 4_000);
    }

    #[test]
    fn one_address_gets_its_share() {
        let connections = Arc::new(Connections::new(8));
        let one: IpAddr = "2001:db8::1".parse().unwrap();
        let same: IpAddr = "2001:db8::2:1".parse().unwrap();
        let held: Vec<_> = (0..2).map(|_| connections.hold(one, |_| false).unwrap()).collect();
        assert!(connections.hold(same, |_| false).is_none(), "the same /64");
        assert!(connections.hold(same, |_| true).is_some(), "a proxy speaks for many");
        assert!(connections.hold("192.0.2.1".parse().unwrap(), |_| false).is_some());
        drop(held);
        assert!(connections.hold(same, |_| false).is_some());
        assert!(connections.by_group.lock().unwrap().is_empty());
    }
}
