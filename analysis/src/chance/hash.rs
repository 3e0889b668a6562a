//! The 128 bits that stand for an input's path.
//!
//! Equation: FNV-1a, h <- (h xor byte) * prime (mod 2^128) over the bytes of the path in UTF-8, from the offset basis
//! 0x6c62272e07bb014262b821756295c58d with the prime 2^88 + 2^8 + 0x3b.
//! Source: Fowler, Noll, Vo and Eastlake, "The FNV Non-Cryptographic Hash Algorithm" (RFC 9923), section 5; from memory,
//! held by that document's property that the basis is the 0-basis hash of a published line (test below).
//! Valid for any text. Two paths of one scenario share a hash with probability about 2^-128.
//! Left out: avalanche, which FNV lacks in its high bits: [`super::mix`] gives it.

/// The offset basis for 128 bits.
const BASIS: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
/// The prime for 128 bits.
const PRIME: u128 = (1 << 88) + (1 << 8) + 0x3b;

/// 128-bit FNV-1a hash of a path; the same on every platform and in every version of this program.
#[must_use]
pub fn path_hash(path: &str) -> u128 {
    path.bytes()
        .fold(BASIS, |hash, byte| (hash ^ u128::from(byte)).wrapping_mul(PRIME))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The basis is by definition the FNV-0 hash (multiply, then xor, from 0) of Landon Curt Noll's signature line: an
    /// outside check of both constants at once. The line is from memory; a wrong letter would fail.
    #[test]
    fn the_basis_is_the_fnv_0_hash_of_the_published_line() {
        let line = r"chongo <Landon Curt Noll> /\../\";
        let hash = line
            .bytes()
            .fold(0_u128, |hash, byte| hash.wrapping_mul(PRIME) ^ u128::from(byte));
        assert_eq!(hash, BASIS);
    }

    /// Published test vectors of 128-bit FNV-1a (from memory).
    #[test]
    fn it_gives_the_published_vectors() {
        assert_eq!(path_hash(""), BASIS);
        assert_eq!(path_hash("a"), 0xd228_cb69_6f1a_8caf_7891_2b70_4e4a_8964);
        assert_eq!(path_hash("foobar"), 0x343e_1662_793c_64bf_6f0d_3597_ba44_6f18);
    }
}
