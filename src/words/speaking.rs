//! Whose language is spoken just now. An answer is put together by many small functions, and none of them has a reason of
//! its own to know who reads it; so the language stands beside them, set once for each request or mail. What is decided
//! and kept never looks here (`tests/layering.rs`): it is said in every language.

use std::cell::Cell;
use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};

use super::Lang;

thread_local! {
    static HERE: Cell<Lang> = const { Cell::new(Lang::En) };
}

/// The language of whoever is being answered.
pub fn here() -> Lang {
    HERE.get()
}

/// Does something in a language.
pub fn speaking<T>(lang: Lang, what: impl FnOnce() -> T) -> T {
    let _back = Back(HERE.replace(lang));
    what()
}

/// Goes back to the language before, also when what was done panics.
struct Back(Lang);

impl Drop for Back {
    fn drop(&mut self) {
        HERE.set(self.0);
    }
}

/// A future that is always polled in its language, whatever its thread does in between.
pub struct InLanguage<F> {
    lang: Lang,
    inner: Pin<Box<F>>,
}

impl<F: Future> InLanguage<F> {
    pub fn new(lang: Lang, future: F) -> Self {
        Self { lang, inner: Box::pin(future) }
    }
}

impl<F: Future> Future for InLanguage<F> {
    type Output = F::Output;

    fn poll(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<F::Output> {
        speaking(self.lang, || self.inner.as_mut().poll(cx))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_language_ends_with_what_was_said_in_it() {
        assert_eq!(here(), Lang::En);
        speaking(Lang::Es, || {
            assert_eq!(here(), Lang::Es);
            speaking(Lang::En, || assert_eq!(here(), Lang::En));
            assert_eq!(here(), Lang::Es);
        });
        assert_eq!(here(), Lang::En);
    }

    #[tokio::test]
    async fn two_answers_in_turns_keep_their_languages() {
        let answer = |lang| {
            InLanguage::new(lang, async move {
                for _ in 0..3 {
                    assert_eq!(here(), lang);
                    tokio::task::yield_now().await;
                }
            })
        };
        tokio::join!(answer(Lang::Es), answer(Lang::En), answer(Lang::Es));
        assert_eq!(here(), Lang::En);
    }
}
