// Room on a disk: whether there is enough, before hours of work are to go there.
#pragma once

#include <cstdint>
#include <string>

namespace plunge {

// "48.0 GB": powers of ten, as disks are sold and df -H counts.
std::string say_bytes(std::uint64_t bytes);

// Throws RunError with both numbers where the disk of `target` has not so much room, or files may
// not be so large; `target` need not be there, its folder must.
void demand_room(const std::string& target, std::uint64_t bytes);

// Takes the room for a file that grows up to `bytes`, which it does not need to reach, so that
// whoever writes meets no full disk on the way. Does nothing where the file system can't.
// Throws RunError, which names the target, where there is not so much.
void hold_room(const std::string& file, const std::string& target, std::uint64_t bytes);

// Gives back what was held behind the end of the file.
void give_back_room(const std::string& file);

}  // namespace plunge
