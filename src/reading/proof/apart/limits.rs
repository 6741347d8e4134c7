//! Limits that a child sets on itself before it reads what it is given.

/// Holds this process to so many bytes of memory of its own from now on, and keeps it from writing files and from
/// leaving its memory on the disk when it falls. What the system does not let be limited is let go: the one who asks
/// holds the time in any case.
#[cfg(unix)]
pub(super) fn set(memory: u64) {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};

    // Linux counts with it all that a process can write to; other systems count the heap alone, so they get the whole.
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

#[cfg(not(unix))]
pub(super) fn set(_: u64) {}
