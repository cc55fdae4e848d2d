// What the process that reads HDF5 files does: it serves one file after another over a socket.
//
// A request is Packing: a word, then what it needs. `open` (part of the file [byte]) comes with the
// file's descriptor and is answered by the catalogue; `reals`, `wholes` and `texts` (variable,
// first, count) by values in pieces; `close` by nothing. Each piece of an answer begins with kGood;
// one that begins with kRefused or kTrouble holds object, value and rule of an Hdf5Refusal, which
// is `trouble` there, and is the last.
#pragma once

#include <cstdint>

namespace plunge {

inline constexpr char kOpenWord[] = "open";
inline constexpr char kRealsWord[] = "reals";
inline constexpr char kWholesWord[] = "wholes";
inline constexpr char kTextsWord[] = "texts";
inline constexpr char kCloseWord[] = "close";

inline constexpr char kGood = 'g';
inline constexpr char kRefused = 'r';
inline constexpr char kTrouble = 't';

inline constexpr char kTooMuchMemory[] =
    "could not be read: the HDF5 library asked for too much memory";

// Exit codes of a process that cannot begin: it has no /proc or /dev/null; it may have too few
// files open at once.
inline constexpr int kCannotBegin = 3;
inline constexpr int kTooFewFiles = 4;

// Processor time for one request about a file of that size [s], and memory [byte].
std::uint64_t seconds_for(std::uint64_t size);
std::uint64_t memory_for(std::uint64_t size);

// Serves until the other end of the socket is closed; to be called right after a fork.
[[noreturn]] void serve_files(int socket);

}  // namespace plunge
