#include "sim/disk/hdf5_gate.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <limits>
#include <set>
#include <utility>

#include "sim/disk/hdf5_library.hpp"

namespace plunge {
namespace {

[[noreturn]] void keep_out(const std::string& object, const std::string& rule) {
  throw Hdf5Refusal{object, "", rule};
}

std::string joined_path(const std::string& group, const std::string& name) {
  return (group == "/" ? "" : group) + "/" + name;
}

void demand_plain_name(const std::string& owner, const std::string& name, const char* what) {
  const bool strange = name.empty() || name.size() > kMostNameLength || name == "." ||
                       std::ranges::any_of(name, [](char c) {
                         return static_cast<unsigned char>(c) < 0x20 || c == 0x7f || c == '/';
                       });
  if (strange) {
    keep_out(owner,
             fmt::format("has {} whose name is empty, longer than {} bytes or not plain text", what,
                         kMostNameLength));
  }
}

// A type in a file as plunge writes it; `other` for all else.
Hdf5Kind kind_of_type(hid_t type) {
  if (H5Tcommitted(type) > 0) return Hdf5Kind::other;
  const auto is_one_of = [&](std::initializer_list<hid_t> known) {
    return std::ranges::any_of(known, [&](hid_t one) { return H5Tequal(type, one) > 0; });
  };
  switch (H5Tget_class(type)) {
    case H5T_FLOAT:
      return is_one_of({H5T_IEEE_F64LE, H5T_IEEE_F32LE}) ? Hdf5Kind::real : Hdf5Kind::other;
    case H5T_INTEGER:
      return is_one_of({H5T_STD_I32LE, H5T_STD_I64LE, H5T_STD_I16LE, H5T_STD_I8LE})
                 ? Hdf5Kind::whole
                 : Hdf5Kind::other;
    case H5T_STRING:
      return H5Tis_variable_str(type) > 0 || H5Tget_size(type) <= kMostFixedText ? Hdf5Kind::text
                                                                                 : Hdf5Kind::other;
    default:
      return Hdf5Kind::other;
  }
}

// The lists of references that link dimensions to the variables on them, which other readers use.
bool is_list_of_references(const std::string& name, hid_t type) {
  const H5T_class_t found = H5Tget_class(type);
  if (name == "REFERENCE_LIST") return found == H5T_COMPOUND;
  if (name != "DIMENSION_LIST" || found != H5T_VLEN) return false;
  const Hdf5Handle each(H5Tget_super(type), H5Tclose);
  return H5Tequal(each.id(), H5T_STD_REF_OBJ) > 0;
}

struct Found {
  std::string name;
  H5L_type_t type;
  std::int64_t order;
  haddr_t address;
};

struct Listing {
  std::vector<Found> links;
  std::vector<std::string> attributes;
  std::size_t most = 0;
  bool past = false;
};

herr_t list_link(hid_t, const char* name, const H5L_info_t* info, void* listing) {
  auto& list = *static_cast<Listing*>(listing);
  list.past = list.links.size() >= list.most;
  if (list.past) return 1;
  const bool hard = info->type == H5L_TYPE_HARD;
  list.links.push_back(
      {name, info->type,
       info->corder_valid ? info->corder : std::numeric_limits<std::int64_t>::max(),
       hard ? info->u.address : HADDR_UNDEF});
  return 0;
}

herr_t list_attribute(hid_t, const char* name, const H5A_info_t*, void* listing) {
  auto& list = *static_cast<Listing*>(listing);
  list.past = list.attributes.size() >= list.most;
  if (list.past) return 1;
  list.attributes.emplace_back(name);
  return 0;
}

class Gate {
 public:
  Gate(hid_t file, std::uint64_t part) : file_(file), part_(part) {}

  Hdf5Catalogue admit() {
    look_at_file();
    const Hdf5Handle root = opened(H5Gopen2(file_, "/", H5P_DEFAULT), H5Gclose, "/");
    H5O_info_t info{};
    if (H5Oget_info2(root.id(), &info, H5O_INFO_BASIC) < 0) library_refuses("/");
    seen_.insert(info.addr);
    look_at_group(root.id(), "/", 0);
    return std::move(catalogue_);
  }

 private:
  void look_at_file() {
    haddr_t end = 0;
    if (H5Fget_eoa(file_, &end) < 0) library_refuses("");
    if (end > part_) keep_out("", "is damaged or cut short: its HDF5 part ends before it should");
    const Hdf5Handle creation = opened(H5Fget_create_plist(file_), H5Pclose, "");
    hsize_t block = 0;
    if (H5Pget_userblock(creation.id(), &block) < 0) library_refuses("");
    if (block != 0) keep_out("", "has a user block before its HDF5 part");
  }

  void look_at_group(hid_t group, const std::string& path, std::size_t depth) {
    if (depth > kMostDepth)
      keep_out(path, fmt::format("lies more than {} groups deep", kMostDepth));
    Hdf5Object object;
    object.path = path;
    object.kind = Hdf5Kind::group;
    look_at_attributes(group, object);
    catalogue_.push_back(std::move(object));

    Listing listing;
    listing.most = kMostObjects - std::min(kMostObjects, catalogue_.size());
    hsize_t start = 0;
    if (H5Literate(group, H5_INDEX_NAME, H5_ITER_NATIVE, &start, list_link, &listing) < 0) {
      library_refuses(path);
    }
    if (listing.past) keep_out(path, fmt::format("holds more than {} objects", kMostObjects));
    std::ranges::stable_sort(listing.links, [](const Found& a, const Found& b) {
      return a.order != b.order ? a.order < b.order : a.name < b.name;
    });
    for (const Found& link : listing.links) follow(group, path, link, depth);
  }

  void follow(hid_t group, const std::string& owner, const Found& link, std::size_t depth) {
    demand_plain_name(owner, link.name, "a member");
    const std::string path = joined_path(owner, link.name);
    if (link.type == H5L_TYPE_SOFT) keep_out(path, "is a soft link; plunge writes none");
    if (link.type == H5L_TYPE_EXTERNAL) keep_out(path, "is a link to another file");
    if (link.type != H5L_TYPE_HARD)
      keep_out(path, "is a link of a kind that plunge does not write");
    if (!seen_.insert(link.address).second) {
      keep_out(path, "is linked twice, or to what it is in");
    }
    const Hdf5Handle object =
        opened(H5Oopen(group, link.name.c_str(), H5P_DEFAULT), H5Oclose, path);
    switch (H5Iget_type(object.id())) {
      case H5I_GROUP:
        return look_at_group(object.id(), path, depth + 1);
      case H5I_DATASET:
        return look_at_variable(object.id(), path);
      default:
        keep_out(path, "is neither a group nor a variable");
    }
  }

  void look_at_variable(hid_t variable, const std::string& path) {
    if (catalogue_.size() >= kMostObjects) {
      keep_out(path, fmt::format("comes after {} objects", kMostObjects));
    }
    Hdf5Object object;
    object.path = path;
    const Hdf5Handle type = opened(H5Dget_type(variable), H5Tclose, path);
    object.kind = kind_of_type(type.id());
    if (object.kind == Hdf5Kind::other) {
      keep_out(path, "must hold numbers or text as plunge writes them; it holds another type");
    }
    const Hdf5Handle space = opened(H5Dget_space(variable), H5Sclose, path);
    object.shape = shape_of(space.id(), path);
    look_at_storage(variable, object, bytes_of(object, H5Tget_size(type.id())));
    look_at_attributes(variable, object);
    catalogue_.push_back(std::move(object));
  }

  static std::vector<std::uint64_t> shape_of(hid_t space, const std::string& path) {
    const H5S_class_t found = H5Sget_simple_extent_type(space);
    const int rank = H5Sget_simple_extent_ndims(space);
    if ((found != H5S_SCALAR && found != H5S_SIMPLE) || rank < 0) keep_out(path, "has no size");
    if (static_cast<std::size_t>(rank) > kMostRank) {
      keep_out(path, fmt::format("has more than {} dimensions", kMostRank));
    }
    std::vector<hsize_t> shape(static_cast<std::size_t>(rank));
    if (H5Sget_simple_extent_dims(space, shape.data(), nullptr) < 0) library_refuses(path);
    return {shape.begin(), shape.end()};
  }

  // Size of the values, unpacked; refuses what no file of this size can hold.
  std::uint64_t bytes_of(const Hdf5Object& object, std::size_t each) const {
    const std::uint64_t most = part_ < std::numeric_limits<std::uint64_t>::max() / kMostDeflation
                                   ? part_ * kMostDeflation
                                   : std::numeric_limits<std::uint64_t>::max();
    std::uint64_t bytes = each;
    if (each == 0) keep_out(object.path, "has values of no size");
    for (const std::uint64_t size : object.shape) {
      if (size == 0) return 0;
    }
    for (const std::uint64_t size : object.shape) {
      if (size > most / bytes) keep_out(object.path, "is larger than its file can hold");
      bytes *= size;
    }
    return bytes;
  }

  void look_at_storage(hid_t variable, const Hdf5Object& object, std::uint64_t bytes) {
    const std::string& path = object.path;
    const Hdf5Handle creation = opened(H5Dget_create_plist(variable), H5Pclose, path);
    if (H5Pget_external_count(creation.id()) != 0) keep_out(path, "has its values in another file");
    const H5D_layout_t layout = H5Pget_layout(creation.id());
    if (layout == H5D_VIRTUAL) keep_out(path, "is put together from other variables or files");
    if (layout != H5D_COMPACT && layout != H5D_CONTIGUOUS && layout != H5D_CHUNKED) {
      keep_out(path, "is stored in a way that plunge does not write");
    }
    const bool deflated = look_at_filters(creation.id(), path);
    if (bytes == 0) return;
    const std::uint64_t stored = H5Dget_storage_size(variable);
    stored_ += std::min(stored, part_ + 1);
    if (stored_ > part_) keep_out(path, "takes more room than the file has");
    if (layout == H5D_CHUNKED) look_at_chunks(creation.id(), variable, path);
    if (stored < (deflated ? bytes / kMostDeflation : bytes)) {
      keep_out(path, "is larger than what is stored of it");
    }
    if (layout != H5D_CONTIGUOUS) return;
    const haddr_t offset = H5Dget_offset(variable);
    if (offset == HADDR_UNDEF || offset > part_ || part_ - offset < bytes) {
      keep_out(path, "is stored past the end of the file");
    }
  }

  static void look_at_chunks(hid_t creation, hid_t variable, const std::string& path) {
    hsize_t sizes[kMostRank] = {};
    const int rank = H5Pget_chunk(creation, static_cast<int>(kMostRank), sizes);
    if (rank < 1) library_refuses(path);
    const Hdf5Handle type = opened(H5Dget_type(variable), H5Tclose, path);
    std::uint64_t bytes = H5Tget_size(type.id());
    for (int axis = 0; axis < rank; ++axis) {
      if (sizes[axis] == 0 || bytes == 0 || sizes[axis] > kMostChunk / bytes) {
        keep_out(path, fmt::format("is stored in pieces of more than {} MiB", kMostChunk >> 20));
      }
      bytes *= sizes[axis];
    }
  }

  // Whether it is deflated.
  static bool look_at_filters(hid_t creation, const std::string& path) {
    const int count = H5Pget_nfilters(creation);
    bool deflated = false;
    if (count < 0 || count > 2) keep_out(path, "is packed in a way that plunge does not write");
    for (unsigned i = 0; i < static_cast<unsigned>(count); ++i) {
      unsigned flags = 0, settings[8] = {}, config = 0;
      std::size_t most = std::size(settings);
      char name[32] = {};
      const H5Z_filter_t filter =
          H5Pget_filter2(creation, i, &flags, &most, settings, sizeof name, name, &config);
      if (filter != H5Z_FILTER_SHUFFLE && filter != H5Z_FILTER_DEFLATE) {
        keep_out(path, "is packed in a way that plunge does not write");
      }
      if (filter == H5Z_FILTER_DEFLATE && std::exchange(deflated, true)) {
        keep_out(path, "is packed twice");
      }
    }
    return deflated;
  }

  void look_at_attributes(hid_t owner, Hdf5Object& object) {
    Listing listing;
    listing.most = kMostAttributes;
    hsize_t start = 0;
    if (H5Aiterate2(owner, H5_INDEX_NAME, H5_ITER_NATIVE, &start, list_attribute, &listing) < 0) {
      library_refuses(object.path);
    }
    if (listing.past) {
      keep_out(object.path, fmt::format("has more than {} attributes", kMostAttributes));
    }
    for (const std::string& name : listing.attributes) {
      demand_plain_name(object.path, name, "an attribute");
      object.attributes.push_back(attribute_of(owner, object.path, name));
    }
  }

  Hdf5AttributeFound attribute_of(hid_t owner, const std::string& path, const std::string& name) {
    Hdf5AttributeFound found;
    found.name = name;
    const auto refuse_it = [&](const std::string& rule) {
      keep_out(path, fmt::format("attribute {} {}", name, rule));
    };
    const Hdf5Handle attribute(H5Aopen(owner, name.c_str(), H5P_DEFAULT), H5Aclose);
    if (attribute.id() < 0) refuse_it("is damaged: " + library_reason());
    const Hdf5Handle type(H5Aget_type(attribute.id()), H5Tclose);
    const Hdf5Handle space(H5Aget_space(attribute.id()), H5Sclose);
    if (type.id() < 0 || space.id() < 0) refuse_it("is damaged: " + library_reason());
    if (H5Aget_storage_size(attribute.id()) > part_) refuse_it("is larger than its file");
    found.kind = kind_of_type(type.id());
    if (found.kind == Hdf5Kind::other) {
      if (!is_list_of_references(name, type.id())) {
        refuse_it("has a type that plunge does not write");
      }
      return found;
    }
    const hssize_t count = H5Sget_simple_extent_npoints(space.id());
    if (count < 0) refuse_it("has no size");
    if (found.kind == Hdf5Kind::text && count != 1) found.kind = Hdf5Kind::other;
    if (found.kind == Hdf5Kind::text) {
      found.text = text_of(attribute.id(), type.id(), space.id(), refuse_it);
      texts_ += found.text.size();
      if (texts_ > part_) refuse_it("makes the texts larger than their file");
    } else if (found.kind == Hdf5Kind::whole) {
      found.wholes.resize(static_cast<std::size_t>(count));
      if (count > 0 && H5Aread(attribute.id(), H5T_NATIVE_INT64, found.wholes.data()) < 0) {
        refuse_it("is damaged: " + library_reason());
      }
    }
    return found;
  }

  template <class Refuse>
  static std::string text_of(hid_t attribute, hid_t type, hid_t space, const Refuse& refuse_it) {
    if (H5Tis_variable_str(type) > 0) {
      char* raw = nullptr;
      if (H5Aread(attribute, type, &raw) < 0) refuse_it("is damaged: " + library_reason());
      std::string text(raw == nullptr ? "" : raw);
      H5Dvlen_reclaim(type, space, H5P_DEFAULT, &raw);
      return text;
    }
    std::string text(H5Tget_size(type), '\0');
    if (H5Aread(attribute, type, text.data()) < 0) refuse_it("is damaged: " + library_reason());
    return fixed_text(text, type);
  }

  hid_t file_;
  std::uint64_t part_;
  std::uint64_t stored_ = 0;  // by variables so far [byte]
  std::uint64_t texts_ = 0;   // in attributes so far [byte]
  std::set<haddr_t> seen_;
  Hdf5Catalogue catalogue_;
};

}  // namespace

void library_refuses(const std::string& object) {
  throw Hdf5Refusal{object, "", "is damaged: " + library_reason(), library_had_trouble()};
}

Hdf5Handle opened(std::int64_t id, Hdf5Handle::Close close, const std::string& object) {
  if (id < 0) library_refuses(object);
  return {id, close};
}

Hdf5Catalogue admitted(std::int64_t file, std::uint64_t part) { return Gate(file, part).admit(); }

}  // namespace plunge
