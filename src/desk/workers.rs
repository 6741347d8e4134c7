//! The threads that jobs share their work among.
//!
//! A face makes them once and does each job within them (`install`), so that all jobs of a process together have so
//! many threads and no more, and the library keeps none of its own.

use rayon::{ThreadPool, ThreadPoolBuilder};

/// So many threads for each processor are let pass where someone asks for them: more only get into each other's way,
/// and with thousands a job does not end at all.
const A_PROCESSOR: usize = 4;

/// The most threads: what a large machine has, and what leaves room in memory for their stacks.
const MOST: usize = 64;

/// A stack as the first thread of a process has it on most systems.
const STACK: usize = 8 << 20;

/// Threads for jobs: so many as are wanted, within a bound that the machine sets; else one for each processor. Where
/// the system gives fewer, fewer do. The results of jobs are the same with any number.
///
/// # Errors
/// When the system gives not even one.
pub fn workers(wanted: Option<usize>) -> Result<ThreadPool, rayon::ThreadPoolBuildError> {
    let processors = std::thread::available_parallelism().map_or(1, usize::from);
    let mut threads = number(wanted, processors);
    loop {
        let names = |thread| format!("brede works {thread}");
        match ThreadPoolBuilder::new().num_threads(threads).stack_size(STACK).thread_name(names).build() {
            Err(_) if threads > 1 => threads /= 2,
            done => return done,
        }
    }
}

fn number(wanted: Option<usize>, processors: usize) -> usize {
    let most = (A_PROCESSOR * processors).min(MOST);
    wanted.filter(|&wanted| wanted > 0).unwrap_or(processors).min(most)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn threads_are_bounded_by_the_machine() {
        assert_eq!(number(None, 2), 2);
        assert_eq!(number(Some(0), 2), 2);
        assert_eq!(number(Some(1), 2), 1);
        assert_eq!(number(Some(5000), 2), 8);
        assert_eq!(number(Some(5000), 32), 64);
        assert_eq!(number(None, 128), 64);
        let pool = workers(Some(5000)).unwrap();
        assert!(pool.current_num_threads() <= MOST);
        assert_eq!(pool.install(rayon::current_num_threads), pool.current_num_threads());
    }
}
