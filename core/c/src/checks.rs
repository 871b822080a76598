//! Pointers and lengths from C: checked here, once, before any of them becomes a reference.

use crate::status::Status;

/// Addresses of a buffer, from the first byte to behind the last.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Span {
    start: usize,
    end: usize,
}

impl Span {
    pub(crate) fn of<T>(start: *const T, len: usize) -> Self {
        let start = start.addr();
        Self {
            start,
            end: start.saturating_add(len.saturating_mul(size_of::<T>())),
        }
    }

    pub(crate) const fn meets(self, other: Self) -> bool {
        self.start < other.end && other.start < self.end
    }
}

/// Refuses null and misaligned pointers.
pub(crate) fn check<T>(pointer: *const T) -> Result<(), Status> {
    if pointer.is_null() {
        Err(Status::NullPointer)
    } else if !pointer.is_aligned() {
        Err(Status::Misaligned)
    } else {
        Ok(())
    }
}

/// Makes a slice of exactly `needed` elements; `wrong` is the status of another length.
///
/// # Safety
/// `len` elements must be readable at `start` for `'a`, and not written meanwhile.
pub(crate) unsafe fn slice<'a, T>(
    start: *const T,
    len: usize,
    needed: usize,
    wrong: Status,
) -> Result<&'a [T], Status> {
    check(start)?;
    if len != needed {
        return Err(wrong);
    }
    // SAFETY: not null, aligned, and readable by the caller's promise; `needed` is at most
    // 1280 * 1024, far below `isize::MAX` bytes.
    Ok(unsafe { core::slice::from_raw_parts(start, len) })
}

/// As [`slice`], to write.
///
/// # Safety
/// `len` elements must be writable at `start` for `'a`, and nothing else may use them meanwhile.
pub(crate) unsafe fn slice_mut<'a, T>(
    start: *mut T,
    len: usize,
    needed: usize,
    wrong: Status,
) -> Result<&'a mut [T], Status> {
    check(start)?;
    if len != needed {
        return Err(wrong);
    }
    // SAFETY: as in `slice`, and unshared by the caller's promise.
    Ok(unsafe { core::slice::from_raw_parts_mut(start, len) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_meet_when_they_share_a_byte() {
        let bytes = [0u8; 8];
        let span = |from: usize, len| Span::of(bytes[from..].as_ptr(), len);
        assert!(span(0, 4).meets(span(3, 1)));
        assert!(!span(0, 4).meets(span(4, 4)));
        assert!(!span(4, 4).meets(span(0, 4)));
        assert!(span(0, 8).meets(span(2, 2)));
        // A length that leads out of the address space ends at its end.
        assert!(span(0, usize::MAX).meets(span(7, 1)));
    }
}
