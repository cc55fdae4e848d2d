// The HDF5 library as the writer and the reader here call it: its errors in words.
//
// The library prints nothing in a thread that called silence_library().
#pragma once

#include <hdf5.h>

#include <string>
#include <string_view>

#include "sim/disk/hdf5_handle.hpp"

namespace plunge {

// What the library says went wrong, in its most specific words.
std::string library_reason();

// True where the library's last failure was for want of memory, or that the system gave no bytes.
bool library_had_trouble();

void silence_library();

// Throws RunError with what was tried and the library's reason.
[[noreturn]] void library_failed(const std::string& what);

// A new identifier; throws as library_failed() does where the library gave none.
Hdf5Handle made(hid_t id, Hdf5Handle::Close close, const std::string& what);

void done(herr_t status, const std::string& what);

// Text of variable length, UTF-8.
Hdf5Handle text_type();

// Text of fixed length, closed by a NUL: ASCII where the text is, else UTF-8. At least two bytes,
// because readers of netCDF take text of one byte for a character.
Hdf5Handle fixed_text_type(const std::string& text);
// The text in a field of that type, of fixed length, without what fills it up.
std::string fixed_text(std::string_view field, hid_t type);

}  // namespace plunge
