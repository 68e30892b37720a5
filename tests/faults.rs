//! What happens when something fails: each a test that can be run again, with its figure printed. With `CHOCK_TEST_LONG=1`
//! those that take long run as long as they are worth.

mod clocks;
mod disk_full;
mod histories;
mod keeping;
mod linearizable;
mod older_schema;
mod postgres_stops;
mod rewritten;
mod several_servers;
mod steps;
mod stopping;
mod two_servers;

/// How often to repeat: a few times in each run, often when somebody asks for it.
pub fn rounds(few: usize, many: usize) -> usize {
    if std::env::var_os("CHOCK_TEST_LONG").is_some() { many } else { few }
}
