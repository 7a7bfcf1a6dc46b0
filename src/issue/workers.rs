//! Work on many things at once, with results in the order of the things.

use rayon::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};

/// The threads of a run.
#[derive(Debug)]
pub struct Workers(Option<ThreadPool>);

impl Workers {
    /// So many threads; 0: as many as processors.
    pub fn new(jobs: usize) -> Self {
        Workers(ThreadPoolBuilder::new().num_threads(jobs).build().ok())
    }

    /// How many threads there are.
    pub fn count(&self) -> usize {
        self.0.as_ref().map_or(1, ThreadPool::current_num_threads)
    }

    /// Works on every item.
    pub fn map<I: Send, T: Send>(&self, items: Vec<I>, work: impl Fn(I) -> T + Sync) -> Vec<T> {
        match &self.0 {
            Some(pool) => pool.install(|| items.into_par_iter().map(&work).collect()),
            // No thread to be had: one after the other gives the same results.
            None => items.into_iter().map(work).collect(),
        }
    }
}
