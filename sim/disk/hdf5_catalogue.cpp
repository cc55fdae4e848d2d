#include "sim/disk/hdf5_catalogue.hpp"

#include <cstring>
#include <functional>
#include <numeric>
#include <stdexcept>
#include <utility>

namespace plunge {
namespace {

constexpr std::size_t kNumber = sizeof(std::uint64_t);

Hdf5Kind kind_of(std::uint64_t number) {
  if (number > static_cast<std::uint64_t>(Hdf5Kind::other)) throw std::length_error("kind");
  return static_cast<Hdf5Kind>(number);
}

}  // namespace

std::uint64_t count_of(const std::vector<std::uint64_t>& shape) {
  return std::accumulate(shape.begin(), shape.end(), std::uint64_t{1}, std::multiplies<>());
}

void Packing::number(std::uint64_t number) {
  char bytes[kNumber];
  std::memcpy(bytes, &number, kNumber);
  bytes_.append(bytes, kNumber);
}

void Packing::text(std::string_view text) {
  number(text.size());
  bytes_ += text;
}

std::string_view Unpacking::take(std::uint64_t bytes) {
  if (bytes > rest_.size()) throw std::length_error("a message is too short");
  const std::string_view taken = rest_.substr(0, static_cast<std::size_t>(bytes));
  rest_.remove_prefix(taken.size());
  return taken;
}

std::uint64_t Unpacking::number() {
  std::uint64_t number = 0;
  std::memcpy(&number, take(kNumber).data(), kNumber);
  return number;
}

std::string Unpacking::text() { return std::string(take(number())); }

std::size_t Unpacking::count(std::size_t least) {
  const std::uint64_t count = number();
  if (count > rest_.size() / least) throw std::length_error("a message is too short");
  return static_cast<std::size_t>(count);
}

void Unpacking::demand_end() const {
  if (!rest_.empty()) throw std::length_error("a message is too long");
}

std::string packed(const Hdf5Catalogue& catalogue) {
  Packing packing;
  packing.number(catalogue.size());
  for (const Hdf5Object& object : catalogue) {
    packing.text(object.path);
    packing.number(static_cast<std::uint64_t>(object.kind));
    packing.number(object.shape.size());
    for (const std::uint64_t size : object.shape) packing.number(size);
    packing.number(object.attributes.size());
    for (const Hdf5AttributeFound& attribute : object.attributes) {
      packing.text(attribute.name);
      packing.number(static_cast<std::uint64_t>(attribute.kind));
      packing.text(attribute.text);
      packing.number(attribute.wholes.size());
      for (const std::int64_t whole : attribute.wholes) {
        packing.number(static_cast<std::uint64_t>(whole));
      }
    }
  }
  return packing.bytes();
}

Hdf5Catalogue unpacked_catalogue(std::string_view bytes) {
  Unpacking unpacking(bytes);
  Hdf5Catalogue catalogue(unpacking.count(4 * kNumber));
  for (Hdf5Object& object : catalogue) {
    object.path = unpacking.text();
    object.kind = kind_of(unpacking.number());
    object.shape.resize(unpacking.count(kNumber));
    for (std::uint64_t& size : object.shape) size = unpacking.number();
    object.attributes.resize(unpacking.count(4 * kNumber));
    for (Hdf5AttributeFound& attribute : object.attributes) {
      attribute.name = unpacking.text();
      attribute.kind = kind_of(unpacking.number());
      attribute.text = unpacking.text();
      attribute.wholes.resize(unpacking.count(kNumber));
      for (std::int64_t& whole : attribute.wholes) {
        whole = static_cast<std::int64_t>(unpacking.number());
      }
    }
  }
  unpacking.demand_end();
  return catalogue;
}

}  // namespace plunge
