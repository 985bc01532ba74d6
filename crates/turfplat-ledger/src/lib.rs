//! What was applied, kept for good.
//!
//! A record is evidence: it must survive a power cut the moment after it was acknowledged, and nobody may
//! change it unseen. So rows are only ever added, each in a transaction of its own that is on the disk
//! before it is acknowledged.
