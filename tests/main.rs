//! Every test that needs more than one room: one binary, one file a story, a fresh database each, on both engines.

mod support;

mod api;
mod browser;
mod claims;
mod cli;
mod crash;
mod duties;
mod invariants;
mod judged_alike;
mod layering;
mod mail;
mod main_job;
mod operator_pages;
mod people;
mod post;
mod repeat;
mod routes;
mod stopping_pages;
mod workshop_pages;
