//! Whether there is memory for what is to be read, so that a book which is too large is refused with words and the
//! program is not ended by the system in the midst of it.
//!
//! Must not know what is read. Start reading at [`Room::now`].

use std::fs;

/// What the plain path holds of each byte of a table: 8 to 10, as measured on books of 100,000 and 200,000 orders.
const PLAIN_BYTES: u64 = 10;

/// What the straight path holds of ten bytes of a table that grows with every order: 3, as measured on a million orders,
/// and one for a book with more to say.
const STRAIGHT_TENTHS: u64 = 4;

/// What the program takes for itself, however little is read.
const OWN_BYTES: u64 = 48 << 20;

/// Memory that can be had.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Room {
    /// `None` where the system does not say.
    bytes: Option<u64>,
}

/// More is wanted than there is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TooLarge {
    /// What is wanted, in bytes.
    pub wanted: u64,
    /// What there is, in bytes.
    pub free: u64,
}

impl Room {
    /// As the system says now: the memory of the machine that is free, or less where the program may have less.
    pub fn now() -> Self {
        let read = |path: &str| fs::read_to_string(path).ok();
        let of_machine = read("/proc/meminfo").as_deref().and_then(available);
        let number = |path: &str| read(path)?.trim().parse::<u64>().ok();
        let of_group = number("/sys/fs/cgroup/memory.max")
            .zip(number("/sys/fs/cgroup/memory.current"))
            .map(|(most, used)| most.saturating_sub(used));
        Self { bytes: of_machine.into_iter().chain(of_group).min() }
    }

    /// Whether the straight path can take tables of so many bytes, of which `small` do not grow with orders.
    pub fn for_straight(self, large: u64, small: u64) -> Result<(), TooLarge> {
        self.has((large / 10 * STRAIGHT_TENTHS).saturating_add(small.saturating_mul(PLAIN_BYTES)))
    }

    /// Whether the plain path can.
    pub fn for_plain(self, bytes: u64) -> Result<(), TooLarge> {
        self.has(bytes.saturating_mul(PLAIN_BYTES))
    }

    fn has(self, bytes: u64) -> Result<(), TooLarge> {
        let wanted = bytes.saturating_add(OWN_BYTES);
        match self.bytes {
            Some(free) if free < wanted => Err(TooLarge { wanted, free }),
            _ => Ok(()),
        }
    }
}

/// What Linux says is available, of `/proc/meminfo`.
fn available(meminfo: &str) -> Option<u64> {
    let line = meminfo.lines().find_map(|line| line.strip_prefix("MemAvailable:"))?;
    line.trim().strip_suffix("kB")?.trim().parse::<u64>().ok()?.checked_mul(1024)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_book_is_too_large_where_more_is_wanted_than_there_is() {
        let room = Room { bytes: Some(1 << 30) };
        assert_eq!(room.for_straight(800 << 20, 1 << 20), Ok(()));
        assert_eq!(room.for_plain(90 << 20), Ok(()));
        assert!(room.for_plain(800 << 20).is_err_and(|too_large| too_large.free == 1 << 30));
        assert!(room.for_straight(u64::MAX, u64::MAX).is_err());
        assert_eq!(Room { bytes: None }.for_plain(u64::MAX), Ok(()));
    }

    #[test]
    fn what_is_available_is_read_of_the_systems_own_words() {
        let meminfo = "MemTotal:       24634044 kB\nMemFree:         1000 kB\nMemAvailable:    2048 kB\n";
        assert_eq!(available(meminfo), Some(2 << 20));
        assert_eq!(available("MemTotal: 1 kB"), None);
    }
}
