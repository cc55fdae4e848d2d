// The door to the model for whoever can't link the library: a question in words, an answer in words
// and numbers.
//
// A question is a JSON object whose `ask` names it, with what it needs beside it; an answer is
//   {"answer": ...}   as tools/page/src/model.ts types it, in SI; what is not a number is null
//   {"faults": [...]} what is wrong with the input, as {file, line, column, key, value, rule}
//   {"error": "..."}  why there is no answer otherwise
// A list of numbers in it is {"at": first, "count": many}, a stretch of numbers(), and one in a
// question a stretch of those that are given with it. Scenes are held in slots. Files are those
// that the module brings along, by their paths in scenarios/, and those that were put beside them.
//
// Not here: what crosses into WebAssembly (exports.cpp), types (tools/page/src/model.ts).
#pragma once

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sim/ride/ready.hpp"
#include "sim/text/text_files.hpp"
#include "tools/cli/plot_traces.hpp"

namespace plunge {

// Throws nothing; a question that is not understood is answered by an error.
class Door {
 public:
  Door();

  // `given`: the numbers that come beside the question.
  void ask(std::string_view question, std::span<const double> given = {});
  // Of the last question.
  const std::string& words() const { return words_; }
  std::span<const double> numbers() const { return numbers_; }

 private:
  using Json = nlohmann::ordered_json;

  struct Slot {
    std::string text;
    std::string path;
    Wishes wishes;
    ReadyRides ready;  // one ride
  };

  Json answer(const Json& question);
  Json scenes();
  Json files();
  Json load(const Json& question);
  Json set(const Json& question);
  Json settled(const Json& question);
  Json scene_text(const Json& question);
  Json curve(const Json& question);
  Json damper(const Json& question);
  Json ground(const Json& question);
  Json ride(const Json& question);
  Json preview(const Json& question);
  Json figure(const Json& question);
  Json ride_figure(const Json& question);
  Json bands(const Json& question);

  ReadyRides ready_of(const Slot& slot, const Wishes& wishes) const;
  const Slot& slot_of(const Json& question) const;
  const ReadyRide& ride_of(const Json& question) const;
  // Puts numbers among those of the answer; where they stand.
  Json place(std::span<const double> values);
  void keep_for_figure(int slot, const ReadyRides& ready, const Result& result);
  Json direction(std::string_view name, const DamperSetup& damper, const OilSetup& oil);

  MemoryFiles files_;
  std::map<int, Slot> slots_;
  std::map<int, PlotTraces> ridden_;  // what a figure shows of the last ride in each slot
  std::span<const double> given_;     // with the question that is being answered
  std::string words_;
  std::vector<double> numbers_;
};

}  // namespace plunge
