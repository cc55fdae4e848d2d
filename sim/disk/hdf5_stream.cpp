#include "sim/disk/hdf5_stream.hpp"

#include <algorithm>
#include <bit>
#include <stdexcept>
#include <string_view>

#include "sim/disk/hdf5_seal.hpp"

namespace plunge {
namespace {

static_assert(std::endian::native == std::endian::little);

constexpr std::size_t kReadPiece = std::size_t{1} << 20;  // read at once [byte]
constexpr std::uint64_t kHeadRoom = std::uint64_t{256}
                                    << 10;  // a guess at what a head takes [byte]

template <class T>
std::string_view bytes_of(std::span<const T> values) {
  return {reinterpret_cast<const char*>(values.data()), values.size_bytes()};
}

}  // namespace

Hdf5Stream::Hdf5Stream(const std::string& path, std::uint64_t expected_bytes)
    : file_(path), head_([&] {
        file_.reserve(expected_bytes + kHeadRoom);
        return Hdf5Writer::over(file_.path());
      }()) {}

void Hdf5Stream::begin() {
  if (!open_) return;
  open_ = false;
  rooms_ = head_.close();
  std::uint64_t end = file_.size();
  for (const Hdf5Room& room : rooms_) end = std::max(end, room.offset + room.bytes);
  file_.reserve(end);
  written_.resize(rooms_.size());
}

void Hdf5Stream::write(const std::string& variable, std::uint64_t offset, std::string_view bytes) {
  begin();
  const auto room = std::ranges::find(rooms_, variable, &Hdf5Room::path);
  if (room == rooms_.end()) throw std::invalid_argument("no room for " + variable);
  if (offset + bytes.size() > room->bytes) {
    throw std::invalid_argument(variable + ": a run past its end");
  }
  file_.write_at(room->offset + offset, bytes);
  PlacedSum sum;
  sum.add(room->offset + offset, bytes);
  const std::lock_guard lock(mutex_);
  sum_.add(sum);
  std::uint64_t& written = written_[static_cast<std::size_t>(room - rooms_.begin())];
  written += bytes.size();
  if (written > room->bytes) throw std::invalid_argument(variable + ": written twice");
}

void Hdf5Stream::write(const std::string& variable, std::uint64_t first,
                       std::span<const double> values) {
  write(variable, first * sizeof(double), bytes_of(values));
}

void Hdf5Stream::write(const std::string& variable, std::uint64_t first,
                       std::span<const float> values) {
  write(variable, first * sizeof(float), bytes_of(values));
}

void Hdf5Stream::write(const std::string& variable, std::uint64_t first,
                       std::span<const int> values) {
  write(variable, first * sizeof(int), bytes_of(values));
}

void Hdf5Stream::save() {
  begin();
  // The sum of the rooms is known; the head stands around them.
  std::ranges::sort(rooms_, {}, &Hdf5Room::offset);
  PlacedSum sum = sum_;
  const std::uint64_t size = file_.size();
  std::uint64_t at = 0;
  const auto add_until = [&](std::uint64_t end) {
    while (at < end) {
      const auto piece = static_cast<std::size_t>(std::min<std::uint64_t>(kReadPiece, end - at));
      sum.add(at, file_.read_at(at, piece));
      at += piece;
    }
  };
  for (const Hdf5Room& room : rooms_) {
    add_until(room.offset);
    at = room.offset + room.bytes;
  }
  add_until(size);
  file_.append(hdf5_seal(size, sum));
  file_.take_name();
}

}  // namespace plunge
