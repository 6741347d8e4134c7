//! The folder of the workbasket: made for the person alone, and never on another machine, where several that write at
//! once share no memory (`SQLite`, "Write-Ahead Logging": "WAL does not work over a network filesystem").

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::BasketError;

/// What the file of pieces is called.
pub(super) const FILE: &str = "basket.sqlite";

/// The folder of photos.
pub(super) const PHOTOS: &str = "photos";

/// The folder of backups.
pub(super) const BACKUPS: &str = "backups";

fn files(path: &Path) -> impl FnOnce(io::Error) -> BasketError + '_ {
    |source| BasketError::Files { path: path.to_owned(), source }
}

/// Makes a folder that nobody else may look into, with those above it; one that is there stays as it is.
pub(super) fn make_folder(folder: &Path) -> Result<(), BasketError> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(files(folder))
}

/// Makes a file that nobody else may look into; one that is there stays as it is. `SQLite` gives the files beside it the
/// same permissions. On Windows a folder of the person's is the person's.
pub(super) fn make_file(path: &Path) -> Result<(), BasketError> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(files(path)(error)),
        _ => Ok(()),
    }
}

/// A new name in a folder must reach the disk too; Windows and some disks flush no folder.
pub(super) fn flush_folder(folder: &Path) -> Result<(), BasketError> {
    if cfg!(unix) {
        let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let flushed = fs::File::open(here).and_then(|file| file.sync_all());
        match flushed {
            Err(error)
                if !matches!(error.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) =>
            {
                return Err(files(folder)(error));
            }
            _ => {}
        }
    }
    Ok(())
}

/// Refuses a folder on another machine.
pub(super) fn refuse_network(folder: &Path) -> Result<(), BasketError> {
    // Disks that some programs make tell Windows no whole names; they are this machine's.
    let real = match fs::canonicalize(folder) {
        Err(_) if cfg!(windows) => return Ok(()),
        real => real.map_err(files(folder))?,
    };
    match network(&real) {
        Some(kind) => Err(BasketError::Network { folder: folder.to_owned(), kind }),
        None => Ok(()),
    }
}

/// The kind of file system, where it is one of another machine.
#[cfg(target_os = "linux")]
fn network(real: &Path) -> Option<String> {
    let mounts = fs::read("/proc/self/mountinfo").ok()?;
    kind_of_network(real, &String::from_utf8_lossy(&mounts))
}

/// `MNT_LOCAL` of `sys/mount.h`: the file system is stored on this machine. (Read, not run: no such machine was at hand.)
#[cfg(target_os = "macos")]
fn network(real: &Path) -> Option<String> {
    const MNT_LOCAL: u32 = 0x1000;
    let found = rustix::fs::statfs(real).ok()?;
    (found.f_flags & MNT_LOCAL == 0).then(|| "a network volume".to_owned())
}

/// A whole name begins `\\?\UNC\` or `\\` where it is a share, also of a drive that has a letter (Microsoft, "Naming
/// Files, Paths, and Namespaces"; read, not run).
#[cfg(windows)]
fn network(real: &Path) -> Option<String> {
    use std::path::{Component, Prefix};
    let Some(Component::Prefix(prefix)) = real.components().next() else { return None };
    let is_share = matches!(prefix.kind(), Prefix::UNC(..) | Prefix::VerbatimUNC(..));
    is_share.then(|| "a share".to_owned())
}

#[cfg(not(any(target_os = "linux", target_os = "macos", windows)))]
fn network(_: &Path) -> Option<String> {
    None
}

/// File systems of other machines, as Linux names them in `mountinfo` (proc(5)); those of FUSE after `fuse.`. `9p`
/// carries folders into virtual machines, where a map of shared memory is no more shared.
const NETWORK: [&str; 24] = [
    "9p",
    "afs",
    "afp",
    "beegfs",
    "ceph",
    "cifs",
    "coda",
    "davfs",
    "davfs2",
    "glusterfs",
    "gvfsd-fuse",
    "lustre",
    "ncpfs",
    "nfs",
    "nfs4",
    "ocfs2",
    "gfs2",
    "orangefs",
    "rclone",
    "s3fs",
    "smb3",
    "smbfs",
    "sshfs",
    "vboxsf",
];

#[cfg_attr(not(target_os = "linux"), allow(dead_code, reason = "one function for tests everywhere"))]
fn kind_of_network(real: &Path, mounts: &str) -> Option<String> {
    let mut nearest: Option<(usize, &str)> = None;
    for line in mounts.lines() {
        let (before, after) = line.split_once(" - ")?;
        let (point, kind) = (before.split(' ').nth(4)?, after.split(' ').next()?);
        // What is mounted last lies over what was there.
        let point = PathBuf::from(point.replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\"));
        let depth = point.components().count();
        if real.starts_with(&point) && nearest.is_none_or(|(least, _)| depth >= least) {
            nearest = Some((depth, kind));
        }
    }
    let (_, kind) = nearest?;
    let name = kind.strip_prefix("fuse.").or_else(|| kind.strip_prefix("fuse3.")).unwrap_or(kind);
    NETWORK.contains(&name).then(|| kind.to_owned())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn folders_of_other_machines_are_known_by_the_nearest_mount() {
        // The form is that of proc(5), "/proc/pid/mountinfo"; its own example is the first line.
        let mounts = "36 35 98:0 /mnt1 / rw,noatime master:1 - ext3 /dev/root rw,errors=continue\n\
            40 36 0:50 / /home/ines rw - nfs4 server:/home rw\n\
            41 40 8:3 / /home/ines/disk\\040two rw - ext4 /dev/sdb1 rw\n\
            42 36 0:51 / /media/far rw,nosuid shared:9 - fuse.sshfs far:/ rw\n\
            43 36 8:4 / /media/near rw - fuseblk /dev/sdc1 rw\n";
        let kind = |path: &str| kind_of_network(Path::new(path), mounts);
        assert_eq!(kind("/home/ines/.local/share/brede").as_deref(), Some("nfs4"));
        assert_eq!(kind("/home/ines/disk two/brede"), None);
        assert_eq!(kind("/home/inessa/brede"), None);
        assert_eq!(kind("/media/far/brede").as_deref(), Some("fuse.sshfs"));
        assert_eq!(kind("/media/near/brede"), None);
    }

    #[cfg(unix)]
    #[test]
    fn what_is_made_is_the_persons_alone() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let (inner, file) = (folder.path().join("a/b"), folder.path().join("a/b/basket"));
        make_folder(&inner).unwrap();
        make_file(&file).unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!((mode(&inner), mode(&file)), (0o700, 0o600));
        fs::write(&file, "kept").unwrap();
        make_file(&file).unwrap();
        assert_eq!(fs::read(&file).unwrap(), b"kept");
    }
}
