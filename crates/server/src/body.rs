//! Reading what a client sends: within its limit, within the budget, and only from a client that keeps sending.

use std::pin::Pin;
use std::task::{Context, Poll, ready};

use axum::body::{Body, Bytes, HttpBody};
use axum::http::HeaderMap;
use axum::http::header::CONTENT_TYPE;
use futures_util::future::poll_fn;
use http_body::Frame;
use tokio::time::{Instant, Sleep, sleep_until};

use crate::budget::{Budgets, Room};
use crate::error::ApiError;
use crate::listen::Patience;

/// A body that fails when its sender is too slow.
pub(crate) struct Paced {
    inner: Body,
    patience: Patience,
    since: Option<Instant>,
    alarm: Option<Pin<Box<Sleep>>>,
    got: u64,
}

/// The sender was too slow.
#[derive(Debug, thiserror::Error)]
#[error("the request came too slowly")]
pub(crate) struct TooSlow;

impl Paced {
    pub(crate) fn new(inner: Body, patience: Patience) -> Self {
        Self { inner, patience, since: None, alarm: None, got: 0 }
    }
}

impl HttpBody for Paced {
    type Data = Bytes;
    type Error = axum::BoxError;

    fn poll_frame(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, Self::Error>>> {
        let this = &mut *self;
        let since = *this.since.get_or_insert_with(Instant::now);
        if let Poll::Ready(frame) = Pin::new(&mut this.inner).poll_frame(cx) {
            if let Some(Ok(frame)) = &frame {
                this.got += frame.data_ref().map_or(0, |d| d.len() as u64);
            }
            this.alarm = None;
            return Poll::Ready(frame.map(|f| f.map_err(Into::into)));
        }
        let deadline = since + this.patience.for_bytes(this.got);
        let alarm = this.alarm.get_or_insert_with(|| Box::pin(sleep_until(deadline)));
        ready!(alarm.as_mut().poll(cx));
        Poll::Ready(Some(Err(TooSlow.into())))
    }

    fn is_end_stream(&self) -> bool {
        self.inner.is_end_stream()
    }

    fn size_hint(&self) -> http_body::SizeHint {
        self.inner.size_hint()
    }
}

fn is_slow(error: &(dyn std::error::Error + 'static)) -> bool {
    let mut at = Some(error);
    while let Some(e) = at {
        if e.is::<TooSlow>() {
            return true;
        }
        at = e.source();
    }
    false
}

/// From this size on a request is a large one.
const LARGE: usize = 64 * 1024;

/// Reads a whole body of at most `most` bytes; the room that it takes comes with it.
///
/// Room for a large one is taken once, so that no two wait for what the other holds; small ones do not wait for large ones.
pub(crate) async fn read(mut body: Body, most: usize, budgets: &Budgets) -> Result<(Vec<u8>, Room), ApiError> {
    let told = body.size_hint().exact().map(|n| usize::try_from(n).unwrap_or(usize::MAX));
    if told.is_some_and(|n| n > most) {
        return Err(ApiError::TooLarge(most));
    }
    let begin = told.unwrap_or(LARGE).min(most);
    let mut room = if begin > LARGE { budgets.requests.take(begin).await? } else { budgets.small.take(begin).await? };
    let (mut out, mut may_hold) = (Vec::new(), begin);
    while let Some(frame) = poll_fn(|cx| Pin::new(&mut body).poll_frame(cx)).await {
        let frame = frame.map_err(|e| {
            if is_slow(&e) {
                ApiError::Slow
            } else {
                ApiError::Bad("the request broke off or is not compressed as it says".to_owned())
            }
        })?;
        let Some(data) = frame.data_ref() else { continue };
        let length = out.len() + data.len();
        if length > most {
            return Err(ApiError::TooLarge(most));
        }
        if length > may_hold {
            room = budgets.requests.take(most).await?;
            may_hold = most;
        }
        if out.capacity() < length {
            out.reserve_exact((length + length / 4).max(LARGE.min(most)).min(may_hold) - out.len());
        }
        out.extend_from_slice(data);
    }
    room.shrink(out.capacity());
    Ok((out, room))
}

/// Refuses what does not call itself JSON: a form of another site's page cannot.
pub(crate) fn must_be_json(headers: &HeaderMap) -> Result<(), ApiError> {
    let kind = headers.get(CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default().trim();
    if kind.eq_ignore_ascii_case("application/json") {
        Ok(())
    } else {
        Err(ApiError::Bad("the content type must be application/json".to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    fn patience() -> Patience {
        Patience { grace: Duration::from_millis(300), bytes_per_second: 1000, ..Patience::default() }
    }

    /// A body of `n` pieces of ten bytes, one every `every`, then silence.
    fn dripping(n: usize, every: Duration) -> Body {
        let (sender, mut pieces) = tokio::sync::mpsc::channel::<Result<Bytes, std::io::Error>>(1);
        tokio::spawn(async move {
            for _ in 0..n {
                tokio::time::sleep(every).await;
                let _ = sender.send(Ok(Bytes::from_static(&[b'x'; 10]))).await;
            }
            std::future::pending::<()>().await;
        });
        Body::from_stream(futures_util::stream::poll_fn(move |cx| pieces.poll_recv(cx)))
    }

    #[tokio::test]
    async fn who_stops_or_drips_is_not_waited_for() {
        let budgets = Budgets::default();
        for (n, every) in [(0, 0), (3, 50), (100_000, 50)] {
            let since = Instant::now();
            let body = Body::new(Paced::new(dripping(n, Duration::from_millis(every)), patience()));
            assert_eq!(read(body, 1 << 20, &budgets).await.map(|_| ()), Err(ApiError::Slow), "{n}");
            assert!(since.elapsed() < Duration::from_secs(5), "{:?}", since.elapsed());
        }
    }

    #[tokio::test]
    async fn no_more_is_read_than_may_be() {
        let budgets = Budgets::default();
        let all = vec![b'x'; 300_000];
        let (got, _room) = read(Body::from(all.clone()), 300_000, &budgets).await.unwrap();
        assert_eq!(got, all);
        assert_eq!(read(Body::from(all), 299_999, &budgets).await.map(|_| ()), Err(ApiError::TooLarge(299_999)));
    }
}
