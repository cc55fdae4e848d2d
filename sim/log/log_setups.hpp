// The set-up that a log's entries stand for: forks, riders, bikes and settings as numbers of a
// Setup.
//
// A thing is its file, where it has one, with its numbers laid over; a setting is its fork, rider
// and bike with its own numbers laid over. What none of them says is unset, but for what has a
// default (models/setup/parameters.hpp).
#pragma once

#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/log/log_content.hpp"

namespace plunge {

// Of a bike, a rider or a fork: the part of a Setup that it fills. Throws InputError for a file
// that this plunge does not take.
Setup setup_of_thing(const LogEntry& thing);

// Of a setting, with the entries that it names.
Setup setup_of_setting(const LogContent& log, const LogEntry& setting);

// How well the numbers of a fork are known, as its file says; without what its own entry and
// `setting` say anew.
Knowledge knowledge_of_fork(const LogEntry& fork, const LogEntry* setting = nullptr);

// Lays numbers by name over a Setup. A name that no parameter has is passed over.
void put_numbers(Setup& setup, const LogEntry& entry);

}  // namespace plunge
