#include "sim/disk/hdf5_library.hpp"

#include <algorithm>
#include <cstdint>
#include <type_traits>

#include "models/setup/fault.hpp"

namespace plunge {

static_assert(std::is_same_v<hid_t, std::int64_t> && std::is_same_v<herr_t, int>);

std::string library_reason() {
  std::string reason;
  H5Ewalk2(
      H5E_DEFAULT, H5E_WALK_UPWARD,
      [](unsigned depth, const H5E_error2_t* error, void* text) {
        if (depth == 0 && error->desc != nullptr) *static_cast<std::string*>(text) = error->desc;
        return 0;
      },
      &reason);
  return reason.empty() ? "no reason given" : reason;
}

bool library_had_trouble() {
  bool trouble = false;
  H5Ewalk2(
      H5E_DEFAULT, H5E_WALK_UPWARD,
      [](unsigned, const H5E_error2_t* error, void* found) {
        const std::string_view words = error->desc == nullptr ? "" : error->desc;
        if (error->maj_num == H5E_RESOURCE || error->min_num == H5E_CANTALLOC ||
            words.find("file read failed") != std::string_view::npos) {
          *static_cast<bool*>(found) = true;
        }
        return 0;
      },
      &trouble);
  return trouble;
}

void silence_library() {
  // At the end of the process the library would close what it could not write, and crash.
  static const bool leaves_files_alone = H5dont_atexit() >= 0;
  static_cast<void>(leaves_files_alone);
  thread_local bool silent = false;  // each thread has its own errors
  if (!silent) silent = H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr) >= 0;
}

void library_failed(const std::string& what) {
  throw RunError("HDF5 library: " + what + ": " + library_reason());
}

Hdf5Handle made(hid_t id, Hdf5Handle::Close close, const std::string& what) {
  if (id < 0) library_failed(what);
  return {id, close};
}

void done(herr_t status, const std::string& what) {
  if (status < 0) library_failed(what);
}

Hdf5Handle text_type() {
  Hdf5Handle type = made(H5Tcopy(H5T_C_S1), H5Tclose, "text type");
  done(H5Tset_size(type.id(), H5T_VARIABLE), "text type");
  done(H5Tset_cset(type.id(), H5T_CSET_UTF8), "text type");
  return type;
}

Hdf5Handle fixed_text_type(const std::string& text) {
  Hdf5Handle type = made(H5Tcopy(H5T_C_S1), H5Tclose, "text type");
  done(H5Tset_size(type.id(), std::max<std::size_t>(text.size(), 1) + 1), "text type");
  const bool ascii = std::ranges::all_of(text, [](char c) { return (c & '\x80') == 0; });
  done(H5Tset_cset(type.id(), ascii ? H5T_CSET_ASCII : H5T_CSET_UTF8), "text type");
  return type;
}

std::string fixed_text(std::string_view field, hid_t type) {
  std::string_view text = field.substr(0, field.find('\0'));
  if (H5Tget_strpad(type) == H5T_STR_SPACEPAD) {
    const std::size_t last = text.find_last_not_of(' ');
    text = text.substr(0, last == std::string_view::npos ? 0 : last + 1);
  }
  return std::string(text);
}

}  // namespace plunge
