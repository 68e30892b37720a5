//! The main job by people at browsers: clicked and typed in headless Chromium, on a phone and at a desk, with the pages'
//! scripts on and off, over the whole server.

pub mod driver;
mod every_page;
mod everybody;
mod live_queue;
mod meanwhile;
mod no_signal;
mod on_paper;
mod passkeys;
mod pictures;
mod read_back;
mod screen;
mod sheets;
mod story;
