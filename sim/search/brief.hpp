// A brief: the rider, the fork and today's set-up, the scenes that are answered together, what is
// demanded of them, and what the rider complains of.
//
// scenarios/brief.md is the format's page. The file is TOML like a scene, with units, and every
// fault comes with file, line, column, value and rule; what is wrong with a file that it names is
// said of that file. What is given beside it, as on a command line, goes before what it says.
// A demand of a brief that has no [demands] is one of usual_demands().
//
// Throws InputError with every fault; the pressure of today's set-up is solved for where a sag is
// given in its place.
#pragma once

#include <string>
#include <vector>

#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/input/service.hpp"
#include "sim/search/complaint_rows.hpp"
#include "sim/search/demands.hpp"
#include "sim/search/settings.hpp"
#include "sim/text/text_files.hpp"

namespace plunge {

struct Brief {
  std::string name;
  std::vector<Setup> scenes;  // with the brief's fork, rider, bike and today's settings; judged
  Knowledge knowledge;        // how well the fork's numbers are known, as every scene leaves them
  ForkSettings today;
  bool sag_held = false;  // today's pressure follows from a sag
  std::vector<Demand> demands;
  bool usual = false;   // they are usual_demands()
  double hands = 0.5;   // weight of the hands in comfort, the rest is grip
  double chance = 0.8;  // that a next step should reach
  std::vector<const ComplaintRow*> complaints;
  Service service;  // what the fork's file says of working on it
};

// What is given beside a brief, as text with units; empty: nothing.
struct BriefFlags {
  std::string fork;  // files, from where the reader starts
  std::string rider;
  std::string bike;
  std::vector<std::string> scenes;
  std::string pressure;  // "72 psi"
  std::string sag;       // "22 %"
  std::string spacers;
  std::string compression;
  std::string rebound;
  std::vector<std::string> complaints;
};

// Sag of 18 to 25 % and 85 to 97 % of the travel on the hardest scene, no metal: common practice,
// no source.
std::vector<Demand> usual_demands();

// The brief of a file; an empty path: of the flags alone.
Brief read_brief(const TextFiles& files, const std::string& path, const BriefFlags& flags = {});

// Whether a file says that it is a brief; other types and faults are for the loaders.
bool is_brief(const TextFiles& files, const std::string& path);

}  // namespace plunge
