#include "sim/disk/hdf5_writer.hpp"

#include <algorithm>
#include <functional>
#include <limits>
#include <mutex>
#include <new>
#include <numeric>
#include <stdexcept>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/hdf5_catalogue.hpp"
#include "sim/disk/hdf5_library.hpp"
#include "sim/disk/hdf5_lock.hpp"
#include "sim/disk/hdf5_seal.hpp"
#include "sim/disk/packed.hpp"

namespace plunge {
namespace {

constexpr hsize_t kPackedTogether = 16384;  // most values that are compressed together
constexpr std::size_t kLibraryRoom = 4u
                                     << 20;  // chosen: several times what it takes at first [byte]
constexpr std::size_t kGrowth = 1u << 16;    // smallest step in which the image grows [byte]

const char* c_text(const std::string& path, const std::string& text) {
  if (text.find('\0') != std::string::npos) {
    throw std::invalid_argument(path + ": text holds a NUL character");
  }
  return text.c_str();
}

// type: of the value in memory and, where stored is left out, on disk.
void write_attribute(hid_t object, const char* name, hid_t type, hid_t space, const void* value,
                     hid_t stored = -1) {
  const Hdf5Handle attribute =
      made(H5Acreate2(object, name, stored < 0 ? type : stored, space, H5P_DEFAULT, H5P_DEFAULT),
           H5Aclose, name);
  done(H5Awrite(attribute.id(), type, value), name);
}

void write_attribute(hid_t object, const Hdf5Attribute& attribute) {
  const char* name = attribute.name.c_str();
  const Hdf5Handle scalar = made(H5Screate(H5S_SCALAR), H5Sclose, name);
  if (const auto* text = std::get_if<std::string>(&attribute.value)) {
    std::string characters = c_text(attribute.name, *text);
    const Hdf5Handle type = fixed_text_type(characters);
    characters.resize(H5Tget_size(type.id()), '\0');
    write_attribute(object, name, type.id(), scalar.id(), characters.data());
  } else if (const auto* number = std::get_if<double>(&attribute.value)) {
    write_attribute(object, name, H5T_NATIVE_DOUBLE, scalar.id(), number, H5T_IEEE_F64LE);
  } else {
    const auto& list = std::get<std::vector<int>>(attribute.value);
    const hsize_t size = list.size();
    const Hdf5Handle space = made(H5Screate_simple(1, &size, nullptr), H5Sclose, name);
    write_attribute(object, name, H5T_NATIVE_INT, space.id(), list.data(), H5T_STD_I32LE);
  }
}

// One entry of a scale's REFERENCE_LIST: a variable and the axis that the scale serves.
struct ScaleUser {
  hobj_ref_t variable;
  int axis;
};

Hdf5Handle open_object(hid_t file, const std::string& path) {
  return made(H5Oopen(file, path.c_str(), H5P_DEFAULT), H5Oclose, path);
}

// Properties of new objects: links and attributes keep the order of their creation.
constexpr unsigned kOrdered = H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED;

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
constexpr float kNothingSingle = std::numeric_limits<float>::quiet_NaN();

// As long as may be along the last axis, then along the one before it, and so on.
std::vector<hsize_t> piece_of(const std::vector<hsize_t>& shape) {
  std::vector<hsize_t> piece(shape.size());
  hsize_t left = kPackedTogether;
  for (std::size_t axis = shape.size(); axis-- > 0;) {
    piece[axis] = std::clamp<hsize_t>(left, 1, shape[axis]);
    left /= piece[axis];
  }
  return piece;
}

void set_pieces(hid_t creation, const std::vector<hsize_t>& piece, const std::string& path) {
  done(H5Pset_chunk(creation, static_cast<int>(piece.size()), piece.data()), path);
}

void compress(hid_t creation, const std::string& path) {
  done(H5Pset_shuffle(creation), path);
  done(H5Pset_deflate(creation, kDeflateLevel), path);
}

Hdf5Handle new_file(const char* name, hid_t access) {
  // The oldest superblock: H5Fget_file_image (1.10) breaks the checksum that later ones carry.
  done(H5Pset_libver_bounds(access, H5F_LIBVER_EARLIEST, H5F_LIBVER_V18), "file version");
  const Hdf5Handle creation = made(H5Pcreate(H5P_FILE_CREATE), H5Pclose, "file creation");
  done(H5Pset_link_creation_order(creation.id(), kOrdered), "order of links");
  done(H5Pset_attr_creation_order(creation.id(), kOrdered), "order of attributes");
  done(H5Pset_obj_track_times(creation.id(), false), "times");  // the same bytes whenever written
  return made(H5Fcreate(name, H5F_ACC_TRUNC, creation.id(), access), H5Fclose, "new file");
}

std::int64_t stored_type(Hdf5Number number) {
  switch (number) {
    case Hdf5Number::real:
      return H5T_NATIVE_DOUBLE;
    case Hdf5Number::single:
      return H5T_NATIVE_FLOAT;
    case Hdf5Number::whole:
      break;
  }
  return H5T_NATIVE_INT;
}

// Throws std::bad_alloc where the library would have too little memory: it does not bear to be
// refused. The room is given back at once.
void demand_memory(std::size_t bytes) { ::operator delete(::operator new(kLibraryRoom + bytes)); }

}  // namespace

void set_up_hdf5() {
  const std::lock_guard lock(hdf5_lock());
  static bool done_so = false;
  if (done_so) return;
  demand_memory(0);
  if (H5open() < 0) throw RunError("the HDF5 library cannot be set up: not enough memory");
  silence_library();
  done_so = true;
}

Hdf5Writer::Hdf5Writer(std::size_t expected_bytes) {
  demand_memory(2 * expected_bytes);
  silence_library();
  const Hdf5Handle access = made(H5Pcreate(H5P_FILE_ACCESS), H5Pclose, "file access");
  constexpr bool kOnDisk = false;
  done(H5Pset_fapl_core(access.id(), std::max(kGrowth, expected_bytes / 4), kOnDisk), "memory");
  file_ = new_file("plunge", access.id());
}

Hdf5Writer Hdf5Writer::over(const std::string& path) {
  silence_library();
  Hdf5Writer writer{OnDisk{}};
  const Hdf5Handle access = made(H5Pcreate(H5P_FILE_ACCESS), H5Pclose, "file access");
  // The usual driver asks for the real path of what is a link, and a file without a name has none.
  done(H5Pset_fapl_stdio(access.id()), path);
  done(H5Pset_file_locking(access.id(), false, true), path);
  writer.file_ = new_file(path.c_str(), access.id());
  return writer;
}

void Hdf5Writer::attributes(const std::string& path, const Hdf5Attributes& attributes) {
  const Hdf5Handle object = open_object(file_.id(), path);
  for (const Hdf5Attribute& attribute : attributes) write_attribute(object.id(), attribute);
}

void Hdf5Writer::group(const std::string& path) {
  const Hdf5Handle creation = made(H5Pcreate(H5P_GROUP_CREATE), H5Pclose, path);
  done(H5Pset_link_creation_order(creation.id(), kOrdered), path);
  done(H5Pset_obj_track_times(creation.id(), false), path);
  made(H5Gcreate2(file_.id(), path.c_str(), H5P_DEFAULT, creation.id(), H5P_DEFAULT), H5Gclose,
       path);
}

Hdf5Writer::Dimension& Hdf5Writer::known_dimension(const std::string& path) {
  const auto found =
      std::find_if(dimensions_.begin(), dimensions_.end(),
                   [&](const Dimension& dimension) { return dimension.path == path; });
  if (found == dimensions_.end()) throw std::invalid_argument("no dimension " + path);
  return *found;
}

std::vector<std::size_t> Hdf5Writer::shape_of(const std::vector<std::string>& dimensions) {
  std::vector<std::size_t> shape;
  for (const std::string& dimension : dimensions) shape.push_back(known_dimension(dimension).size);
  return shape;
}

Hdf5Handle Hdf5Writer::make(const std::string& path, const std::vector<std::string>& dimensions,
                            std::int64_t type, const Storage& storage,
                            const Hdf5Attributes& attributes) {
  if (H5Lexists(file_.id(), path.c_str(), H5P_DEFAULT) > 0) {
    throw std::invalid_argument("two variables named " + path);
  }
  const std::vector<std::size_t> sizes = shape_of(dimensions);
  const std::vector<hsize_t> shape(sizes.begin(), sizes.end());
  const std::size_t count = count_of(sizes);
  const bool is_double = H5Tequal(type, H5T_NATIVE_DOUBLE) > 0;
  const bool is_float = H5Tequal(type, H5T_NATIVE_FLOAT) > 0;
  const hid_t stored = is_double                            ? H5T_IEEE_F64LE
                       : is_float                           ? H5T_IEEE_F32LE
                       : H5Tequal(type, H5T_NATIVE_INT) > 0 ? H5T_STD_I32LE
                                                            : type;
  const Hdf5Handle creation = made(H5Pcreate(H5P_DATASET_CREATE), H5Pclose, path);
  done(H5Pset_attr_creation_order(creation.id(), kOrdered), path);
  done(H5Pset_obj_track_times(creation.id(), false), path);
  if (is_float) done(H5Pset_fill_value(creation.id(), type, &kNothingSingle), path);
  if (is_double) done(H5Pset_fill_value(creation.id(), type, &kNothing), path);
  const bool large = is_float || (is_double && count * sizeof(double) >= kCompressFrom);
  if (storage.reserved) {
    done(H5Pset_alloc_time(creation.id(), H5D_ALLOC_TIME_EARLY), path);
    done(H5Pset_fill_time(creation.id(), H5D_FILL_TIME_NEVER), path);
  } else if (!storage.piece.empty()) {
    set_pieces(creation.id(), {storage.piece.begin(), storage.piece.end()}, path);
    if (is_double) compress(creation.id(), path);
  } else if (!shape.empty() && count > 0 && large) {
    set_pieces(creation.id(), piece_of(shape), path);
    compress(creation.id(), path);
  }
  const Hdf5Handle space =
      made(shape.empty() ? H5Screate(H5S_SCALAR)
                         : H5Screate_simple(static_cast<int>(shape.size()), shape.data(), nullptr),
           H5Sclose, path);
  Hdf5Handle variable = made(H5Dcreate2(file_.id(), path.c_str(), stored, space.id(), H5P_DEFAULT,
                                        creation.id(), H5P_DEFAULT),
                             H5Dclose, path);
  for (const Hdf5Attribute& attribute : attributes) write_attribute(variable.id(), attribute);
  const bool is_scale = dimensions.size() == 1 && dimensions[0] == path;
  if (is_double && !is_scale) write_attribute(variable.id(), {"_FillValue", kNothing});
  if (is_float) {
    const Hdf5Handle scalar = made(H5Screate(H5S_SCALAR), H5Sclose, path);
    write_attribute(variable.id(), "_FillValue", type, scalar.id(), &kNothingSingle, stored);
  }
  if (!is_scale && !dimensions.empty()) attach(variable.id(), path, dimensions);
  return variable;
}

void Hdf5Writer::attach(std::int64_t variable, const std::string& path,
                        const std::vector<std::string>& dimensions) {
  std::vector<hobj_ref_t> references(dimensions.size());
  std::vector<hvl_t> lists;
  for (std::size_t axis = 0; axis < dimensions.size(); ++axis) {
    done(H5Rcreate(&references[axis], file_.id(), dimensions[axis].c_str(), H5R_OBJECT, -1), path);
    lists.push_back({1, &references[axis]});
    known_dimension(dimensions[axis]).users.emplace_back(path, static_cast<int>(axis));
  }
  const Hdf5Handle list_type = made(H5Tvlen_create(H5T_STD_REF_OBJ), H5Tclose, path);
  const hsize_t rank = lists.size();
  const Hdf5Handle list_space = made(H5Screate_simple(1, &rank, nullptr), H5Sclose, path);
  write_attribute(variable, "DIMENSION_LIST", list_type.id(), list_space.id(), lists.data());
}

void Hdf5Writer::add(const std::string& path, const std::vector<std::string>& dimensions,
                     std::int64_t type, const void* values, std::size_t count,
                     const Hdf5Attributes& attributes, const Storage& storage) {
  demand_memory(0);
  if (count_of(shape_of(dimensions)) != count) {
    throw std::invalid_argument(path + ": its size does not fit its dimensions");
  }
  const Hdf5Handle variable = make(path, dimensions, type, storage, attributes);
  if (storage.reserved && count > 0) {
    const haddr_t offset = H5Dget_offset(variable.id());
    if (offset == HADDR_UNDEF) library_failed(path);
    rooms_.push_back({path, offset, count * H5Tget_size(type)});
  } else if (count > 0) {
    done(H5Dwrite(variable.id(), type, H5S_ALL, H5S_ALL, H5P_DEFAULT, values), path);
  }
}

void Hdf5Writer::add_dimension(const std::string& path, std::int64_t type, const void* values,
                               std::size_t count, const Hdf5Attributes& attributes,
                               bool may_shrink) {
  dimensions_.push_back({path, count, {}, {}});
  Storage storage;
  storage.reserved = values == nullptr && count > 0;
  if (may_shrink && count > 0) storage.piece = {std::min<std::size_t>(count, kPackedTogether)};
  add(path, {path}, type, values, count, attributes, storage);
  const Hdf5Handle scale = open_object(file_.id(), path);
  write_attribute(scale.id(), {"CLASS", "DIMENSION_SCALE"});
  write_attribute(scale.id(), {"NAME", path.substr(path.rfind('/') + 1)});
}

void Hdf5Writer::dimension(const std::string& path, std::span<const double> values,
                           const Hdf5Attributes& attributes, bool may_shrink) {
  add_dimension(path, H5T_NATIVE_DOUBLE, values.data(), values.size(), attributes, may_shrink);
}

void Hdf5Writer::dimension(const std::string& path, std::span<const int> values,
                           const Hdf5Attributes& attributes, bool may_shrink) {
  add_dimension(path, H5T_NATIVE_INT, values.data(), values.size(), attributes, may_shrink);
}

void Hdf5Writer::dimension(const std::string& path, std::span<const std::string> values,
                           const Hdf5Attributes& attributes) {
  std::vector<const char*> texts;
  for (const std::string& text : values) texts.push_back(c_text(path, text));
  add_dimension(path, text_type().id(), texts.data(), texts.size(), attributes, false);
}

void Hdf5Writer::reserve_dimension(const std::string& path, std::size_t size, Hdf5Number number,
                                   const Hdf5Attributes& attributes) {
  add_dimension(path, stored_type(number), nullptr, size, attributes, false);
}

void Hdf5Writer::reserve(const std::string& path, const std::vector<std::string>& dimensions,
                         Hdf5Number number, const Hdf5Attributes& attributes) {
  add(path, dimensions, stored_type(number), nullptr, count_of(shape_of(dimensions)), attributes,
      Storage{.reserved = true, .piece = {}});
}

void Hdf5Writer::pieces(const std::string& path, const std::vector<std::string>& dimensions,
                        const std::vector<std::size_t>& piece, const Hdf5Attributes& attributes) {
  open_.insert_or_assign(path, make(path, dimensions, H5T_NATIVE_DOUBLE,
                                    Storage{.reserved = false, .piece = piece}, attributes));
}

void Hdf5Writer::rows(const std::string& path, const std::vector<std::string>& dimensions,
                      const Hdf5Attributes& attributes) {
  open_.insert_or_assign(path, make(path, dimensions, H5T_NATIVE_DOUBLE, {}, attributes));
}

void Hdf5Writer::text_rows(const std::string& path, const std::vector<std::string>& dimensions,
                           const Hdf5Attributes& attributes) {
  open_.insert_or_assign(path, make(path, dimensions, text_type().id(), {}, attributes));
}

std::int64_t Hdf5Writer::open_variable(const std::string& path) const {
  silence_library();
  const auto found = open_.find(path);
  if (found == open_.end()) throw std::invalid_argument("no variable " + path + " to write into");
  return found->second.id();
}

void Hdf5Writer::write_piece(const std::string& path, const std::vector<std::size_t>& first,
                             const std::string& packed) {
  const std::vector<hsize_t> offset(first.begin(), first.end());
  constexpr std::uint32_t kEveryFilter = 0;
  done(H5Dwrite_chunk(open_variable(path), H5P_DEFAULT, kEveryFilter, offset.data(), packed.size(),
                      packed.data()),
       path);
}

// values: as many as the axes behind the first have places.
void Hdf5Writer::write_row(const std::string& path, std::size_t row, std::int64_t type,
                           const void* values, std::size_t count) {
  const std::int64_t variable = open_variable(path);
  const Hdf5Handle space = made(H5Dget_space(variable), H5Sclose, path);
  std::vector<hsize_t> sizes(static_cast<std::size_t>(H5Sget_simple_extent_ndims(space.id())));
  done(H5Sget_simple_extent_dims(space.id(), sizes.data(), nullptr), path);
  std::vector<hsize_t> first(sizes.size(), 0);
  first[0] = row;
  const bool there = row < sizes[0];
  sizes[0] = 1;
  const hsize_t room = std::accumulate(sizes.begin(), sizes.end(), hsize_t{1}, std::multiplies<>());
  if (!there || room != count) throw std::invalid_argument(path + ": not a row of it");
  done(
      H5Sselect_hyperslab(space.id(), H5S_SELECT_SET, first.data(), nullptr, sizes.data(), nullptr),
      path);
  const Hdf5Handle memory = made(H5Screate_simple(1, &room, nullptr), H5Sclose, path);
  done(H5Dwrite(variable, type, memory.id(), space.id(), H5P_DEFAULT, values), path);
}

void Hdf5Writer::write_row(const std::string& path, std::size_t row,
                           std::span<const double> values) {
  write_row(path, row, H5T_NATIVE_DOUBLE, values.data(), values.size());
}

void Hdf5Writer::write_row(const std::string& path, std::size_t row,
                           std::span<const std::string> values) {
  std::vector<const char*> texts;
  for (const std::string& text : values) texts.push_back(c_text(path, text));
  write_row(path, row, text_type().id(), texts.data(), texts.size());
}

void Hdf5Writer::shorten(const std::string& path, std::size_t size) {
  Dimension& dimension = known_dimension(path);
  if (size > dimension.size || size == 0) throw std::invalid_argument(path + ": no shorter size");
  if (size == dimension.size) return;
  std::vector<std::pair<std::string, int>> all = dimension.users;
  all.emplace_back(path, 0);
  for (const auto& [user, axis] : all) {
    const Hdf5Handle variable = open_object(file_.id(), user);
    const Hdf5Handle space = made(H5Dget_space(variable.id()), H5Sclose, user);
    std::vector<hsize_t> sizes(static_cast<std::size_t>(H5Sget_simple_extent_ndims(space.id())));
    done(H5Sget_simple_extent_dims(space.id(), sizes.data(), nullptr), user);
    sizes[static_cast<std::size_t>(axis)] = size;
    done(H5Dset_extent(variable.id(), sizes.data()), user);
  }
  dimension.size = size;
}

void Hdf5Writer::variable(const std::string& path, const std::vector<std::string>& dimensions,
                          std::span<const double> values, const Hdf5Attributes& attributes) {
  add(path, dimensions, H5T_NATIVE_DOUBLE, values.data(), values.size(), attributes, {});
}

void Hdf5Writer::variable(const std::string& path, const std::vector<std::string>& dimensions,
                          std::span<const float> values, const Hdf5Attributes& attributes) {
  add(path, dimensions, H5T_NATIVE_FLOAT, values.data(), values.size(), attributes, {});
}

void Hdf5Writer::variable(const std::string& path, const std::vector<std::string>& dimensions,
                          std::span<const int> values, const Hdf5Attributes& attributes) {
  add(path, dimensions, H5T_NATIVE_INT, values.data(), values.size(), attributes, {});
}

void Hdf5Writer::variable(const std::string& path, const std::vector<std::string>& dimensions,
                          std::span<const std::string> values, const Hdf5Attributes& attributes) {
  std::vector<const char*> texts;
  for (const std::string& text : values) texts.push_back(c_text(path, text));
  add(path, dimensions, text_type().id(), texts.data(), texts.size(), attributes, {});
}

void Hdf5Writer::link_dimensions() {
  const Hdf5Handle user_type =
      made(H5Tcreate(H5T_COMPOUND, sizeof(ScaleUser)), H5Tclose, "REFERENCE_LIST");
  done(H5Tinsert(user_type.id(), "dataset", HOFFSET(ScaleUser, variable), H5T_STD_REF_OBJ),
       "REFERENCE_LIST");
  done(H5Tinsert(user_type.id(), "dimension", HOFFSET(ScaleUser, axis), H5T_NATIVE_INT),
       "REFERENCE_LIST");
  for (const Dimension& dimension : dimensions_) {
    if (dimension.users.empty()) continue;
    std::vector<ScaleUser> users(dimension.users.size());
    for (std::size_t i = 0; i < users.size(); ++i) {
      done(H5Rcreate(&users[i].variable, file_.id(), dimension.users[i].first.c_str(), H5R_OBJECT,
                     -1),
           dimension.path);
      users[i].axis = dimension.users[i].second;
    }
    const hsize_t size = users.size();
    const Hdf5Handle space = made(H5Screate_simple(1, &size, nullptr), H5Sclose, dimension.path);
    write_attribute(open_object(file_.id(), dimension.path).id(), "REFERENCE_LIST", user_type.id(),
                    space.id(), users.data());
  }
}

std::vector<Hdf5Room> Hdf5Writer::close() {
  link_dimensions();
  open_.clear();
  done(H5Fflush(file_.id(), H5F_SCOPE_GLOBAL), "new file");
  file_ = Hdf5Handle();
  return std::move(rooms_);
}

std::string Hdf5Writer::bytes() {
  link_dimensions();
  open_.clear();
  done(H5Fflush(file_.id(), H5F_SCOPE_GLOBAL), "file image");
  const ssize_t size = H5Fget_file_image(file_.id(), nullptr, 0);
  if (size <= 0) library_failed("file image");
  std::string image(static_cast<std::size_t>(size), '\0');
  if (H5Fget_file_image(file_.id(), image.data(), image.size()) != size) {
    library_failed("file image");
  }
  file_ = Hdf5Handle();
  image += hdf5_seal(image);
  return image;
}

void Hdf5Writer::save(const std::string& path) { write_file_atomically(path, bytes()); }

std::string hdf5_name(std::string name) {
  for (char& c : name) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (!plain) c = '_';
  }
  return name;
}

}  // namespace plunge
