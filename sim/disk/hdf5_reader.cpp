#include "sim/disk/hdf5_reader.hpp"

#include <type_traits>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_library.hpp"
#include "sim/disk/hdf5_seal.hpp"

namespace plunge {

Hdf5Reader::Hdf5Reader(const std::string& path, bool sealed) : path_(path) {
  silence_library();
  if (!sealed) sealed = check_seal(path);
  if (H5Fis_hdf5(path.c_str()) <= 0) refuse("", "", "is not an HDF5 file");
  const Hdf5Handle access = made(H5Pcreate(H5P_FILE_ACCESS), H5Pclose, path);
  done(H5Pset_file_locking(access.id(), false, true), path);
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDONLY, access.id());
  if (file < 0) refuse("", "", "is damaged or cut short: " + library_reason());
  file_ = Hdf5Handle(file, H5Fclose);
  haddr_t end = 0;
  hsize_t size = 0;
  if (!sealed && (H5Fget_eoa(file, &end) < 0 || H5Fget_filesize(file, &size) < 0 || size > end)) {
    refuse("", "", "is damaged or cut short: its check sum is incomplete");
  }
}

void Hdf5Reader::refuse(const std::string& object, const std::string& value,
                        const std::string& rule) const {
  throw InputError(Fault{object, value, rule, Place{path_, 0, 0}});
}

bool Hdf5Reader::has(const std::string& object) const {
  for (std::size_t end = 0; end != std::string::npos;) {
    end = object.find('/', end + 1);
    const std::string part = object.substr(0, end);
    if (part != "/" && H5Lexists(file_.id(), part.c_str(), H5P_DEFAULT) <= 0) return false;
  }
  return true;
}

std::vector<std::string> Hdf5Reader::variables(const std::string& group) const {
  H5G_info_t info{};
  if (!has(group) || H5Gget_info_by_name(file_.id(), group.c_str(), &info, H5P_DEFAULT) < 0) {
    refuse(group, "", "must be a group");
  }
  std::vector<std::string> names;
  for (hsize_t i = 0; i < info.nlinks; ++i) {
    // A file that was edited by other means may not know the order of creation.
    for (const H5_index_t index : {H5_INDEX_CRT_ORDER, H5_INDEX_NAME}) {
      const ssize_t size = H5Lget_name_by_idx(file_.id(), group.c_str(), index, H5_ITER_INC, i,
                                              nullptr, 0, H5P_DEFAULT);
      if (size <= 0) continue;
      std::string name(static_cast<std::size_t>(size), '\0');
      H5Lget_name_by_idx(file_.id(), group.c_str(), index, H5_ITER_INC, i, name.data(),
                         name.size() + 1, H5P_DEFAULT);
      const std::string path = (group == "/" ? "" : group) + "/" + name;
      const Hdf5Handle object(H5Oopen(file_.id(), path.c_str(), H5P_DEFAULT), H5Oclose);
      if (H5Iget_type(object.id()) == H5I_DATASET) names.push_back(name);
      break;
    }
  }
  return names;
}

namespace {

Hdf5Handle open_variable(const Hdf5Reader& reader, hid_t file, const std::string& path) {
  Hdf5Handle variable(reader.has(path) ? H5Dopen2(file, path.c_str(), H5P_DEFAULT) : -1, H5Dclose);
  if (variable.id() < 0) reader.refuse(path, "", "is missing");
  return variable;
}

std::size_t count_of(const Hdf5Reader& reader, const std::string& path, hid_t space) {
  const hssize_t count = H5Sget_simple_extent_npoints(space);
  if (count < 0) reader.refuse(path, "", "has no size");
  return static_cast<std::size_t>(count);
}

template <class T>
std::vector<T> read_numbers(const Hdf5Reader& reader, hid_t file, const std::string& path,
                            hid_t type) {
  const Hdf5Handle variable = open_variable(reader, file, path);
  const Hdf5Handle stored(H5Dget_type(variable.id()), H5Tclose);
  const H5T_class_t found = H5Tget_class(stored.id());
  if (found != H5T_INTEGER && (found != H5T_FLOAT || std::is_integral_v<T>)) {
    reader.refuse(path, "",
                  std::is_integral_v<T> ? "must hold whole numbers" : "must hold numbers");
  }
  const Hdf5Handle space(H5Dget_space(variable.id()), H5Sclose);
  std::vector<T> values(count_of(reader, path, space.id()));
  if (!values.empty() &&
      H5Dread(variable.id(), type, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()) < 0) {
    reader.refuse(path, "", "is damaged: " + library_reason());
  }
  return values;
}

bool is_text(hid_t type) {
  return H5Tget_class(type) == H5T_STRING && H5Tis_variable_str(type) > 0;
}

}  // namespace

std::vector<std::size_t> Hdf5Reader::shape(const std::string& variable) const {
  const Hdf5Handle data = open_variable(*this, file_.id(), variable);
  const Hdf5Handle space(H5Dget_space(data.id()), H5Sclose);
  const int rank = H5Sget_simple_extent_ndims(space.id());
  if (rank < 0) refuse(variable, "", "has no size");
  std::vector<hsize_t> sizes(static_cast<std::size_t>(rank));
  H5Sget_simple_extent_dims(space.id(), sizes.data(), nullptr);
  return {sizes.begin(), sizes.end()};
}

std::vector<double> Hdf5Reader::numbers(const std::string& variable) const {
  return read_numbers<double>(*this, file_.id(), variable, H5T_NATIVE_DOUBLE);
}

std::vector<int> Hdf5Reader::integers(const std::string& variable) const {
  return read_numbers<int>(*this, file_.id(), variable, H5T_NATIVE_INT);
}

std::vector<std::string> Hdf5Reader::texts(const std::string& variable) const {
  const Hdf5Handle data = open_variable(*this, file_.id(), variable);
  const Hdf5Handle stored(H5Dget_type(data.id()), H5Tclose);
  if (!is_text(stored.id())) refuse(variable, "", "must hold text of variable length");
  const Hdf5Handle space(H5Dget_space(data.id()), H5Sclose);
  std::vector<char*> raw(count_of(*this, variable, space.id()), nullptr);
  if (raw.empty()) return {};
  const Hdf5Handle type = text_type();
  if (H5Dread(data.id(), type.id(), H5S_ALL, H5S_ALL, H5P_DEFAULT, raw.data()) < 0) {
    refuse(variable, "", "is damaged: " + library_reason());
  }
  std::vector<std::string> texts;
  for (const char* text : raw) texts.emplace_back(text == nullptr ? "" : text);
  H5Dvlen_reclaim(type.id(), space.id(), H5P_DEFAULT, raw.data());
  return texts;
}

bool Hdf5Reader::has_attribute(const std::string& object, const std::string& name) const {
  return has(object) &&
         H5Aexists_by_name(file_.id(), object.c_str(), name.c_str(), H5P_DEFAULT) > 0;
}

std::string Hdf5Reader::text_attribute(const std::string& object, const std::string& name) const {
  if (!has_attribute(object, name)) refuse(object, "", "attribute " + name + " is missing");
  const Hdf5Handle attribute(
      H5Aopen_by_name(file_.id(), object.c_str(), name.c_str(), H5P_DEFAULT, H5P_DEFAULT),
      H5Aclose);
  const Hdf5Handle stored(H5Aget_type(attribute.id()), H5Tclose);
  const Hdf5Handle space(H5Aget_space(attribute.id()), H5Sclose);
  if (H5Tget_class(stored.id()) != H5T_STRING || count_of(*this, object, space.id()) != 1) {
    refuse(object, "", "attribute " + name + " must be one text");
  }
  if (H5Tis_variable_str(stored.id()) == 0) {
    std::string text(H5Tget_size(stored.id()), '\0');
    if (H5Aread(attribute.id(), stored.id(), text.data()) < 0) {
      refuse(object, "", "attribute " + name + " is damaged: " + library_reason());
    }
    return text.c_str();  // up to the NUL that fills it up
  }
  char* raw = nullptr;  // as older files have it, and other programs write
  const Hdf5Handle type = text_type();
  if (H5Aread(attribute.id(), type.id(), &raw) < 0) {
    refuse(object, "", "attribute " + name + " is damaged: " + library_reason());
  }
  std::string text(raw == nullptr ? "" : raw);
  H5Dvlen_reclaim(type.id(), space.id(), H5P_DEFAULT, &raw);
  return text;
}

std::vector<int> Hdf5Reader::integer_attribute(const std::string& object,
                                               const std::string& name) const {
  if (!has_attribute(object, name)) refuse(object, "", "attribute " + name + " is missing");
  const Hdf5Handle attribute(
      H5Aopen_by_name(file_.id(), object.c_str(), name.c_str(), H5P_DEFAULT, H5P_DEFAULT),
      H5Aclose);
  const Hdf5Handle stored(H5Aget_type(attribute.id()), H5Tclose);
  const Hdf5Handle space(H5Aget_space(attribute.id()), H5Sclose);
  if (H5Tget_class(stored.id()) != H5T_INTEGER) {
    refuse(object, "", "attribute " + name + " must be whole numbers");
  }
  std::vector<int> values(count_of(*this, object, space.id()));
  if (!values.empty() && H5Aread(attribute.id(), H5T_NATIVE_INT, values.data()) < 0) {
    refuse(object, "", "attribute " + name + " is damaged: " + library_reason());
  }
  return values;
}

}  // namespace plunge
