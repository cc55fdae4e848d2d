#include "sim/disk/hdf5_contents.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "sim/disk/hdf5_library.hpp"

namespace plunge {
namespace {

constexpr std::size_t kCacheSlots = 521;   // a prime, as the library asks
constexpr std::size_t kPieceTexts = 1024;  // texts read at once

// A variable with a cache that holds its largest piece, so that none is unpacked twice.
Hdf5Handle open_variable(hid_t file, const std::string& path) {
  const Hdf5Handle access = opened(H5Pcreate(H5P_DATASET_ACCESS), H5Pclose, path);
  if (H5Pset_chunk_cache(access.id(), kCacheSlots, kMostChunk, 1.0) < 0) library_refuses(path);
  return opened(H5Dopen2(file, path.c_str(), access.id()), H5Dclose, path);
}

// Boxes behind each other from `first` on, each at most `most` values, and what is read of each.
template <class Read>
void read_in_pieces(hid_t variable, const std::string& path,
                    const std::vector<std::uint64_t>& shape, std::uint64_t first,
                    std::uint64_t count, std::size_t most, const Read& read) {
  for (std::uint64_t done = 0; done < count;) {
    const std::uint64_t now = std::min<std::uint64_t>(most, count - done);
    for (const Hdf5Box& box : boxes_of_run(shape, first + done, now)) {
      const Hdf5Handle from = opened(H5Dget_space(variable), H5Sclose, path);
      const hsize_t values = count_of(box.size);
      const Hdf5Handle to = opened(H5Screate_simple(1, &values, nullptr), H5Sclose, path);
      const std::vector<hsize_t> start(box.start.begin(), box.start.end());
      const std::vector<hsize_t> size(box.size.begin(), box.size.end());
      if (!shape.empty() && H5Sselect_hyperslab(from.id(), H5S_SELECT_SET, start.data(), nullptr,
                                                size.data(), nullptr) < 0) {
        library_refuses(path);
      }
      read(to.id(), from.id(), static_cast<std::size_t>(values));
    }
    done += now;
  }
}

template <class T>
std::string_view bytes_of(const std::vector<T>& values) {
  return {reinterpret_cast<const char*>(values.data()), values.size() * sizeof(T)};
}

const std::vector<std::uint64_t>& shape_in(const Hdf5Catalogue& catalogue, const std::string& path,
                                           std::uint64_t first, std::uint64_t count) {
  const auto found = std::ranges::find(catalogue, path, &Hdf5Object::path);
  if (found == catalogue.end() || found->kind == Hdf5Kind::group) {
    throw Hdf5Refusal{path, "", "is missing"};
  }
  const std::uint64_t all = count_of(found->shape);
  if (first > all || count > all - first) throw Hdf5Refusal{path, "", "is too short"};
  return found->shape;
}

void add_boxes(const std::vector<std::uint64_t>& shape, std::size_t axis, std::uint64_t first,
               std::uint64_t count, Hdf5Box& box, std::vector<Hdf5Box>& boxes) {
  if (count == 0) return;
  std::uint64_t row = 1;  // values for each step along this axis
  for (std::size_t i = axis + 1; i < shape.size(); ++i) row *= shape[i];
  const auto along = [&](std::uint64_t from, std::uint64_t steps) {
    box.start[axis] = from;
    box.size[axis] = steps;
    for (std::size_t i = axis + 1; i < shape.size(); ++i) {
      box.start[i] = 0;
      box.size[i] = shape[i];
    }
    boxes.push_back(box);
  };
  const auto inside = [&](std::uint64_t from, std::uint64_t at, std::uint64_t values) {
    box.start[axis] = from;
    box.size[axis] = 1;
    add_boxes(shape, axis + 1, at, values, box, boxes);
  };
  std::uint64_t step = first / row;
  if (const std::uint64_t at = first % row; at != 0) {
    const std::uint64_t values = std::min(count, row - at);
    inside(step, at, values);
    count -= values;
    ++step;
  }
  const std::uint64_t whole = count / row;
  if (whole > 0) along(step, whole);
  if (count % row != 0) inside(step + whole, 0, count % row);
}

}  // namespace

std::vector<Hdf5Box> boxes_of_run(const std::vector<std::uint64_t>& shape, std::uint64_t first,
                                  std::uint64_t count) {
  if (shape.empty()) return std::vector<Hdf5Box>(count > 0 ? 1 : 0);
  Hdf5Box box{std::vector<std::uint64_t>(shape.size()), std::vector<std::uint64_t>(shape.size())};
  std::vector<Hdf5Box> boxes;
  add_boxes(shape, 0, first, count, box, boxes);
  return boxes;
}

Hdf5Contents::Hdf5Contents(const std::string& path, std::uint64_t part) : part_(part) {
  silence_library();
  const Hdf5Handle access = opened(H5Pcreate(H5P_FILE_ACCESS), H5Pclose, "");
  if (H5Pset_file_locking(access.id(), false, true) < 0) library_refuses("");
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDONLY, access.id());
  if (file < 0) {
    throw Hdf5Refusal{"", "", "is damaged or cut short: " + library_reason(),
                      library_had_trouble()};
  }
  file_ = Hdf5Handle(file, H5Fclose);
  catalogue_ = admitted(file, part);
}

void Hdf5Contents::reals(const std::string& path, std::uint64_t first, std::uint64_t count,
                         const Take& take) const {
  const auto& shape = shape_in(catalogue_, path, first, count);
  const Hdf5Handle variable = open_variable(file_.id(), path);
  std::vector<double> values;
  read_in_pieces(
      variable.id(), path, shape, first, count, kPieceValues,
      [&](hid_t to, hid_t from, std::size_t size) {
        values.resize(size);
        if (H5Dread(variable.id(), H5T_NATIVE_DOUBLE, to, from, H5P_DEFAULT, values.data()) < 0) {
          library_refuses(path);
        }
        take(bytes_of(values));
      });
}

void Hdf5Contents::wholes(const std::string& path, std::uint64_t first, std::uint64_t count,
                          const Take& take) const {
  const auto& shape = shape_in(catalogue_, path, first, count);
  const Hdf5Handle variable = open_variable(file_.id(), path);
  std::vector<std::int64_t> wide;
  std::vector<std::int32_t> values;
  read_in_pieces(
      variable.id(), path, shape, first, count, kPieceValues,
      [&](hid_t to, hid_t from, std::size_t size) {
        wide.resize(size);
        if (H5Dread(variable.id(), H5T_NATIVE_INT64, to, from, H5P_DEFAULT, wide.data()) < 0) {
          library_refuses(path);
        }
        values.clear();
        for (const std::int64_t value : wide) {
          values.push_back(static_cast<std::int32_t>(value));
          if (values.back() != value) {
            throw Hdf5Refusal{path, fmt::format("{}", value), "must fit into 32 bits"};
          }
        }
        take(bytes_of(values));
      });
}

void Hdf5Contents::texts(const std::string& path, std::uint64_t first, std::uint64_t count,
                         const Take& take) const {
  const auto& shape = shape_in(catalogue_, path, first, count);
  const Hdf5Handle variable = open_variable(file_.id(), path);
  const Hdf5Handle type = opened(H5Dget_type(variable.id()), H5Tclose, path);
  const bool variable_length = H5Tis_variable_str(type.id()) > 0;
  const std::size_t each = H5Tget_size(type.id());
  std::uint64_t bytes = 0;
  const std::size_t at_once =
      variable_length ? kPieceTexts
                      : std::max<std::size_t>(1, std::min(kPieceTexts, kMostFixedText / each));
  read_in_pieces(
      variable.id(), path, shape, first, count, at_once,
      [&](hid_t to, hid_t from, std::size_t size) {
        Packing packing;
        if (variable_length) {
          std::vector<char*> raw(size, nullptr);
          if (H5Dread(variable.id(), type.id(), to, from, H5P_DEFAULT, raw.data()) < 0) {
            library_refuses(path);
          }
          for (const char* text : raw) packing.text(text == nullptr ? "" : text);
          H5Dvlen_reclaim(type.id(), to, H5P_DEFAULT, raw.data());
          bytes += packing.bytes().size();
          // Texts stand in the file one by one, so all of them are no larger than it; their lengths
          // are 8 bytes here and 16 there.
          if (bytes > part_) {
            throw Hdf5Refusal{path, "", "holds more text than its file can"};
          }
        } else {
          std::string raw(size * each, '\0');
          if (H5Dread(variable.id(), type.id(), to, from, H5P_DEFAULT, raw.data()) < 0) {
            library_refuses(path);
          }
          for (std::size_t i = 0; i < size; ++i) {
            packing.text(fixed_text(std::string_view(raw).substr(i * each, each), type.id()));
          }
        }
        take(packing.bytes());
      });
}

}  // namespace plunge
