//! The reads that authorise: pages and API pass through the same gate.

pub mod alerts;
pub mod archive;
pub mod board;
pub mod careless;
pub mod check_data;
pub mod defect;
pub mod gate;
pub mod list;
pub mod live;
pub mod named;
pub mod numbers;
pub mod order;
pub mod order_more;
pub mod outbox;
pub mod queue;
pub mod record;
pub mod reliability;
pub mod reorder;
pub mod store;
pub mod trail;
pub mod try_out;
pub mod verdict;
pub mod wear;
