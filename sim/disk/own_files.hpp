// Which files plunge has written itself, so that only those are replaced unasked.
//
// HDF5 files end in a seal (hdf5_seal.hpp), which whatever else changes the file cuts off. Pictures
// bear a mark with a check sum of the rest, so that one that was worked on is not taken for
// plunge's any more:
//   PNG   a text chunk behind the header, keyword Software
//   SVG   a comment behind the XML declaration
//   PDF   a comment before the last startxref
//   HTML  a comment behind the declaration of its type
// No program shows the mark.
#pragma once

#include <string>

namespace plunge {

// The picture with its mark; as it is where it is none of these.
std::string marked_picture(const std::string& picture);

// True for an HDF5 file with a seal, for a picture that is as it was marked, and for an empty file.
// False also for what cannot be read.
bool is_own_file(const std::string& path);

}  // namespace plunge
