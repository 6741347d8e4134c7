//! Limits that a child sets on itself before it reads what it is given.

/// Holds this process to so many bytes of memory of its own from now on, and on Unix keeps it from writing files and
/// from leaving its memory on the disk when it falls. What the system does not let be limited is let go: the one who
/// asks holds the time in any case.
pub(super) fn set(memory: u64) {
    #[cfg(unix)]
    system::limit(memory);
    #[cfg(not(target_os = "linux"))]
    watch::hold(memory);
}

/// What a child ends with that took more memory than it may.
pub(super) const SPENT: i32 = 112;

#[cfg(unix)]
mod system {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};

    /// Linux counts with `RLIMIT_DATA` all that a process can write to. Other systems count the heap alone with it, so
    /// they get a limit on the whole; macOS takes it and does not hold it.
    pub(super) fn limit(memory: u64) {
        #[cfg(target_os = "linux")]
        let counted = Resource::Data;
        #[cfg(not(target_os = "linux"))]
        let counted = Resource::As;
        for (resource, most) in [(counted, memory), (Resource::Core, 0), (Resource::Fsize, 0)] {
            let maximum = getrlimit(resource).maximum;
            let current = Some(maximum.map_or(most, |maximum| most.min(maximum)));
            _ = setrlimit(resource, Rlimit { current, maximum });
        }
    }
}

/// Where the system holds no such limit, the child looks at itself and ends when it is over: some megabytes more than
/// the limit may be taken between two looks.
#[cfg(not(target_os = "linux"))]
mod watch {
    use std::sync::atomic::{AtomicU64, Ordering};
    use std::time::Duration;

    /// Between two looks, each of some microseconds.
    const OFTEN: Duration = Duration::from_millis(2);

    /// What is held now. None is watched for while this is zero.
    static MOST: AtomicU64 = AtomicU64::new(0);

    pub(super) fn hold(memory: u64) {
        if MOST.swap(memory, Ordering::Relaxed) != 0 {
            return;
        }
        // Without a thread to spare it goes unwatched, as on a system that tells nothing of memory.
        _ = std::thread::Builder::new().name("brede watches".to_owned()).spawn(|| {
            while let Some(taken) = taken() {
                if taken > MOST.load(Ordering::Relaxed) {
                    std::process::exit(super::SPENT);
                }
                std::thread::sleep(OFTEN);
            }
        });
    }

    /// Bytes that this process has taken. On Windows those promised to it count, as it may be promised more than there
    /// is; elsewhere those that it has written to, since promises there are often far larger than what comes of them.
    fn taken() -> Option<u64> {
        let found = memory_stats::memory_stats()?;
        Some(if cfg!(windows) { found.virtual_mem } else { found.physical_mem } as u64)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::process::Command;
    use std::time::Duration;

    /// What is begun as a child, and what tells it that it is one.
    const CHILD: &str = "reading::apart::limits::tests::a_child_that_takes_more_and_more";
    const ASKED: &str = "BREDE_TEST_TAKES";

    /// Takes half a gigabyte where an eighth is allowed. Does nothing unless it is asked to.
    #[test]
    fn a_child_that_takes_more_and_more() {
        if std::env::var_os(ASKED).is_none() {
            return;
        }
        super::set(128 << 20);
        let mut taken = Vec::new();
        for _ in 0..64 {
            taken.push(vec![1_u8; 8 << 20]);
            std::thread::sleep(Duration::from_millis(20));
        }
        assert_eq!(taken.len(), 64);
    }

    #[test]
    fn a_child_that_takes_more_than_it_may_ends() {
        let child = [CHILD, "--exact", "--test-threads=1"];
        let ended =
            Command::new(std::env::current_exe().unwrap()).args(child).env(ASKED, "1").output().unwrap();
        let said = String::from_utf8_lossy(&ended.stderr);
        // By the child itself, or by Rust's allocator.
        let is_told = ended.status.code() == Some(super::SPENT) || said.contains("memory allocation of");
        assert!(!ended.status.success() && is_told, "{}: {said}", ended.status);
    }
}
