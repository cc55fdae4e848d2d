#include "sim/disk/hdf5_reader.hpp"

#include <algorithm>
#include <string_view>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_seal.hpp"
#include "sim/disk/regular_file.hpp"

namespace plunge {
namespace {

constexpr std::string_view kSignature = "\211HDF\r\n\032\n";

std::string group_of(const std::string& path) {
  return path.substr(0, std::max<std::size_t>(1, path.rfind('/')));
}

}  // namespace

Hdf5Reader::Hdf5Reader(const std::string& path, Seal seal) : path_(path) {
  const RegularFile file(path);
  if (file.size() < kSignature.size() || file.read_at(0, kSignature.size()) != kSignature) {
    refuse("", "", "is not an HDF5 file");
  }
  const bool sealed = seal == Seal::looked_at ? looks_sealed(file) : check_seal(file);
  if (!sealed && seal != Seal::not_needed) {
    refuse("", "",
           "is damaged or cut short: its check sum is incomplete. If another program wrote or "
           "changed it, --unsealed reads it all the same");
  }
  const std::uint64_t part = size_before_seal(file);
  process_ = std::make_unique<ReadingProcess>(file, part, sealed);
  for (const Hdf5Object& object : process_->catalogue()) objects_.emplace(object.path, &object);
}

void Hdf5Reader::refuse(const std::string& object, const std::string& value,
                        const std::string& rule) const {
  throw InputError(Fault{object, value, rule, Place{path_, 0, 0}});
}

const Hdf5Object* Hdf5Reader::find(const std::string& object) const {
  const auto found = objects_.find(object);
  return found == objects_.end() ? nullptr : found->second;
}

bool Hdf5Reader::has(const std::string& object) const { return find(object) != nullptr; }

std::vector<std::string> Hdf5Reader::variables(const std::string& group) const {
  const Hdf5Object* found = find(group);
  if (found == nullptr || found->kind != Hdf5Kind::group) refuse(group, "", "must be a group");
  std::vector<std::string> names;
  for (const Hdf5Object& object : process_->catalogue()) {
    if (object.kind == Hdf5Kind::group || group_of(object.path) != group) continue;
    names.push_back(object.path.substr(object.path.rfind('/') + 1));
  }
  return names;
}

const Hdf5Object& Hdf5Reader::variable(const std::string& path) const {
  const Hdf5Object* found = find(path);
  if (found == nullptr) refuse(path, "", "is missing");
  if (found->kind == Hdf5Kind::group) refuse(path, "", "must be a variable, not a group");
  return *found;
}

const Hdf5Object& Hdf5Reader::variable(const std::string& path, std::size_t first,
                                       std::size_t count) const {
  const Hdf5Object& found = variable(path);
  const std::uint64_t all = count_of(found.shape);
  if (first > all || count > all - first) refuse(path, "", "must have more values");
  return found;
}

std::vector<std::size_t> Hdf5Reader::shape(const std::string& path) const {
  const Hdf5Object& found = variable(path);
  return {found.shape.begin(), found.shape.end()};
}

std::vector<double> Hdf5Reader::numbers(const std::string& path, std::size_t first,
                                        std::size_t count) const {
  const Hdf5Object& found = variable(path, first, count);
  if (found.kind != Hdf5Kind::real && found.kind != Hdf5Kind::whole) {
    refuse(path, "", "must hold numbers");
  }
  std::vector<double> values(count);
  process_->reals(path, first, values);
  return values;
}

std::vector<int> Hdf5Reader::integers(const std::string& path, std::size_t first,
                                      std::size_t count) const {
  if (variable(path, first, count).kind != Hdf5Kind::whole) {
    refuse(path, "", "must hold whole numbers");
  }
  std::vector<int> values(count);
  process_->wholes(path, first, values);
  return values;
}

std::vector<std::string> Hdf5Reader::texts(const std::string& path, std::size_t first,
                                           std::size_t count) const {
  if (variable(path, first, count).kind != Hdf5Kind::text) refuse(path, "", "must hold text");
  return process_->texts(path, first, count);
}

std::vector<double> Hdf5Reader::numbers(const std::string& path) const {
  return numbers(path, 0, count_of(variable(path).shape));
}

std::vector<int> Hdf5Reader::integers(const std::string& path) const {
  return integers(path, 0, count_of(variable(path).shape));
}

std::vector<std::string> Hdf5Reader::texts(const std::string& path) const {
  return texts(path, 0, count_of(variable(path).shape));
}

bool Hdf5Reader::has_attribute(const std::string& object, const std::string& name) const {
  const Hdf5Object* found = find(object);
  return found != nullptr &&
         std::ranges::find(found->attributes, name, &Hdf5AttributeFound::name) !=
             found->attributes.end();
}

const Hdf5AttributeFound& Hdf5Reader::attribute(const std::string& object,
                                                const std::string& name) const {
  if (!has_attribute(object, name)) refuse(object, "", "attribute " + name + " is missing");
  return *std::ranges::find(find(object)->attributes, name, &Hdf5AttributeFound::name);
}

std::string Hdf5Reader::text_attribute(const std::string& object, const std::string& name) const {
  const Hdf5AttributeFound& found = attribute(object, name);
  if (found.kind != Hdf5Kind::text) refuse(object, "", "attribute " + name + " must be one text");
  return found.text;
}

std::vector<int> Hdf5Reader::integer_attribute(const std::string& object,
                                               const std::string& name) const {
  const Hdf5AttributeFound& found = attribute(object, name);
  if (found.kind != Hdf5Kind::whole) {
    refuse(object, "", "attribute " + name + " must be whole numbers");
  }
  std::vector<int> values;
  for (const std::int64_t whole : found.wholes) {
    values.push_back(static_cast<int>(whole));
    if (values.back() != whole) {
      refuse(object, std::to_string(whole), "attribute " + name + " must fit into 32 bits");
    }
  }
  return values;
}

}  // namespace plunge
