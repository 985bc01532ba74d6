//! What a dose must come to: published examples, laws of the trade, refusals.

// As in every test, a value that is not there is a failure.
#![allow(clippy::unwrap_used)]

mod batches;
mod examples;
mod laws;
mod mixing;
mod product_files;
mod published_mixes;
mod rates;
mod refusals;
mod setbacks;
mod skipping;
mod tank;
mod world;
