//! A transaction that has nothing to ask is handed in whole, and a thread that does nothing else puts it before the connection:
//! one after the other, as many as there are, then one commit. Whoever asks takes a turn instead and may be held up on its way
//! back to it, by whatever else its thread has to do, and everybody in line with it.

use std::future::poll_fn;
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{Mutex, mpsc};

use super::{Group, Member, Together, closed};
use crate::storage::StorageError;

/// So that whoever takes turns waits no longer than for these.
const MOST_OF_A_GROUP: usize = 64;
/// About what one takes.
const A_STATEMENT: Duration = Duration::from_micros(15);

/// Ends its thread when the last of it is dropped.
#[derive(Clone)]
pub(super) struct Parcels(mpsc::UnboundedSender<Parcel>);

struct Parcel {
    whole: Together,
    member: Member,
}

impl Parcels {
    pub(super) fn served(group: Arc<Mutex<Group>>) -> std::io::Result<Self> {
        let (parcels, waiting) = mpsc::unbounded_channel();
        // It only ever waits for the connection's own thread and for the line: no clock, no sockets.
        let runtime = tokio::runtime::Builder::new_current_thread().build()?;
        let serving = move || runtime.block_on(serve(group, waiting));
        std::thread::Builder::new().name("chock-writes".to_owned()).spawn(serving)?;
        Ok(Self(parcels))
    }

    pub(super) fn hand_in(&self, whole: Together, member: Member) -> Result<(), StorageError> {
        self.0.send(Parcel { whole, member }).map_err(|_| closed())
    }
}

async fn serve(group: Arc<Mutex<Group>>, mut waiting: mpsc::UnboundedReceiver<Parcel>) {
    while let Some(first) = waiting.recv().await {
        let mut group = group.lock().await;
        if group.abandoned {
            group.undo_one().await;
        }
        let mut next = Some(first);
        while let Some(parcel) = next {
            group.take_in(parcel).await;
            next = if group.done.len() < MOST_OF_A_GROUP { waiting.try_recv().ok() } else { None };
        }
        group.commit().await;
    }
}

/// The connection's thread tells of each statement as it is done, and to be woken by every one of them costs more than most of
/// them do. So whoever is woken waits until they may all be done. It is a thread that has nothing else to do.
async fn unhurried<T>(sending: impl Future<Output = T>, pause: Duration) -> T {
    let (mut sending, mut woken) = (pin!(sending), false);
    poll_fn(|context| {
        if std::mem::replace(&mut woken, true) {
            std::thread::sleep(pause);
        }
        sending.as_mut().poll(context)
    })
    .await
}

impl Group {
    async fn take_in(&mut self, Parcel { whole, member }: Parcel) {
        let whole = whole.after(self.next_turn());
        let pause = A_STATEMENT * whole.statements();
        let sent = match self.connection() {
            Ok(connection) => unhurried(whole.send(connection), pause).await,
            Err(e) => Err(e),
        };
        match sent {
            Ok(()) => {
                self.open = self.turn.take();
                self.abandoned = false;
                self.done.push(member);
            }
            Err(why) => {
                self.given_up();
                self.undo_one().await;
                let _ = member.tell.send(Err(why));
            }
        }
    }
}
