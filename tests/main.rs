//! Every test that needs more than one room: one binary, one file a story, a fresh database each, on both engines.

mod support;

mod api;
mod browser;
mod careless;
mod check_data;
mod checklist_editor;
mod claims;
mod cli;
mod crash;
mod duties;
mod good_until;
mod guided_report;
mod invariants;
mod judged;
mod judged_alike;
mod labour;
mod late;
mod layering;
mod mail;
mod main_job;
mod operator_pages;
mod people;
mod photos_in_a_bucket;
mod post;
mod queue;
mod repeat;
mod routes;
mod shared_tablet;
mod stopping_pages;
mod store;
mod trends;
mod two_languages;
mod watching;
mod weight;
mod workshop_pages;
