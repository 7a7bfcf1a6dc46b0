//! Compression.
//!
//! Comes in: bytes. Goes out: fewer, the same on every machine. Next: [`super::finish`].

use std::cell::RefCell;

/// Level of compression for what differs between documents: the next takes twice as long and would be most of a document's
/// time (measured on two pages: it saves 9 KB for 0.25 ms).
const FAST: i32 = 1;
/// Level for what is large: it keeps a crowded document of two pages below 80 KB.
const LEVEL: i32 = 2;
/// Bytes from which something is large: a page or a structure tree that is fuller than most.
const LARGE: usize = 30 * 1024;
/// Level of compression for what is done once: the best.
const BEST: i32 = 9;
/// Window of 32 KB, the largest.
const WINDOW_BITS: u8 = 15;

/// A compressor with room for what comes out: setting one up takes longer than a short stream, so each thread keeps its
/// own. One that is reset gives the bytes that a new one gives.
struct Compressor {
    deflate: zlib_rs::Deflate,
    output: Vec<u8>,
}

thread_local! {
    static COMPRESSOR: RefCell<Compressor> = RefCell::new(Compressor::new(LEVEL));
    static FAST_COMPRESSOR: RefCell<Compressor> = RefCell::new(Compressor::new(FAST));
}

/// Deflate with a zlib head. The crate is called by itself and pinned: another one, or another version, would give other
/// bytes. It chooses its hash by level and not by processor, so that all machines give the same.
pub fn compress(bytes: &[u8]) -> Vec<u8> {
    let compressor = if bytes.len() < LARGE { &FAST_COMPRESSOR } else { &COMPRESSOR };
    compressor.with_borrow_mut(|compressor| compressor.compress(bytes))
}

/// The same as well as it goes, for what is done once.
pub fn compress_best(bytes: &[u8]) -> Vec<u8> {
    Compressor::new(BEST).compress(bytes)
}

impl Compressor {
    fn new(level: i32) -> Compressor {
        Compressor { deflate: zlib_rs::Deflate::new(level, true, WINDOW_BITS), output: Vec::new() }
    }

    fn compress(&mut self, bytes: &[u8]) -> Vec<u8> {
        let room = zlib_rs::compress_bound(bytes.len());
        if self.output.len() < room {
            self.output.resize(room, 0);
        }
        self.deflate.reset();
        let status = self.deflate.compress(bytes, &mut self.output, zlib_rs::DeflateFlush::Finish);
        assert_eq!(status, Ok(zlib_rs::Status::StreamEnd), "the output has room for the worst case");
        self.output[..self.deflate.total_out() as usize].to_vec()
    }
}
