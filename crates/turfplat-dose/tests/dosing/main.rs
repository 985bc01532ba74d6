//! What a dose must come to: published examples, laws of the trade, refusals.

// As in every test, a value that is not there is a failure.
#![allow(clippy::unwrap_used)]

mod batches;
mod bounds;
mod buying;
mod ceiling;
mod examples;
mod label_cards;
mod label_range;
mod laws;
mod limit_rows;
mod limits;
mod mixing;
mod own_rules;
mod product_files;
mod published_mixes;
mod rates;
mod reference_rows;
mod refusals;
mod setbacks;
mod skipping;
mod tank;
mod world;
