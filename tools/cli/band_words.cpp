#include "tools/cli/band_words.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <set>
#include <string_view>
#include <utility>

#include "models/setup/parameters.hpp"
#include "sim/fit/fork_fit.hpp"
#include "sim/report/open_text.hpp"
#include "sim/text/band_text.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

constexpr double kWorthReading = 0.9;  // of a spread that a reading must leave at most [1]

// What a workshop reads of what is no part of the fork.
constexpr std::pair<std::string_view, std::string_view> kOtherReadings[] = {
    {"share of weight", "weigh the front wheel with the rider on the bike"},
    {"rider's mass", "weigh the rider, dressed and packed"},
};

double said_value(double value, const Label& label) { return in_common_unit(value, label.said); }

// The reading that would narrow what a cause leaves open of a number; empty: none would by much.
std::string reading_for(const RideBands& bands, const Setup& setup, const std::string& cause,
                        const OpenNumber& open) {
  for (const auto& [words, reading] : kOtherReadings) {
    if (words == cause) return std::string(reading);
  }
  std::vector<double> slope = open.r;
  const std::vector<std::size_t> places = bands.knowledge.uncertain();
  for (std::size_t k = 0; k < slope.size(); ++k) {
    if (plain_name(bands.knowledge.numbers()[places[k]].name) != cause) slope[k] = 0.0;
  }
  const NextReading next = helpful_reading(setup, bands.knowledge, slope);
  return next.spread < kWorthReading ? next.words : "";
}

// What one cause is the main one of.
struct CauseAccount {
  std::string words;
  std::vector<std::string> labels;
  const OpenNumber* most = nullptr;  // of which it explains most
  double share = 0.0;
};

// A number counts for the cause that it has in the first variant that is open.
std::vector<CauseAccount> accounts_of(const std::vector<PrintedNumber>& printed) {
  std::vector<CauseAccount> accounts;
  std::set<std::string> told;
  for (const PrintedNumber& number : printed) {
    if (number.open == nullptr || number.open->causes.empty()) continue;
    // "progression, end over middle" by its first words.
    const std::string label = number.label.substr(0, number.label.find(','));
    if (!told.insert(label).second) continue;
    const BandCause& cause = number.open->causes.front();
    auto account = std::ranges::find(accounts, cause.words, &CauseAccount::words);
    if (account == accounts.end()) {
      account = accounts.insert(account, {cause.words, {}, nullptr, 0.0});
    }
    account->labels.push_back(label);
    if (cause.share <= account->share) continue;
    account->share = cause.share;
    account->most = number.open;
  }
  std::ranges::stable_sort(accounts, std::greater<>(),
                           [](const CauseAccount& account) { return account.labels.size(); });
  return accounts;
}

}  // namespace

std::string banded(double value, const Label& label, const OpenNumber* open) {
  if (open == nullptr || !open->band.known()) return in_said(value, label);
  if (!std::isfinite(value) && open->applies < 1.0 - kAllButNone) return in_said(value, label);
  return open_text(value, label, *open);
}

std::string banded_change(double value, double first, const Label& label, const OpenNumber* open) {
  if (open == nullptr || !open->change.known() || open->applies < kAllButNone ||
      !std::isfinite(value) || !std::isfinite(first)) {
    return banded(value, label, open);
  }
  const auto said = [&](double change) {
    return said_value(first + change, label) - said_value(first, label);
  };
  const std::string words = with_band(said(value - first), said(open->change.low),
                                      said(open->change.high), label.decimals);
  return words.starts_with('-') ? words : "+" + words;
}

bool is_open(double value, const Label& label, const OpenNumber* open) {
  return banded(value, label, open) != in_said(value, label);
}

std::string banded_between(double low, double high, const Label& label, const OpenNumber* lowest,
                           const OpenNumber* highest) {
  const bool known =
      lowest != nullptr && highest != nullptr && lowest->band.known() && highest->band.known();
  if (!known) return in_said(low, label) + " to " + in_said(high, label);
  return band_text(said_value(lowest->band.low, label), said_value(highest->band.high, label),
                   label.decimals);
}

std::string band_account(const RideBands& bands, const Setup& setup,
                         const std::vector<PrintedNumber>& printed, bool with_numbers) {
  std::string text = wrapped(
      fmt::format(
          "± and from-to: 95 % of {} draws of what is not measured (--exact: none){}", bands.draws,
          bands.rides.size() > 1 ? "; with a sign: the change from the first row, fork by fork"
                                 : ""),
      line_width(), 2);
  text += "\n";
  for (const OpenRide& ride : bands.rides) {
    if (ride.failed == 0) continue;
    text += wrapped(fmt::format("left out are draws that cannot be ridden so, {} of {}: {}",
                                ride.failed, bands.draws, ride.failure),
                    line_width(), 2) +
            "\n";
    break;
  }
  for (const CauseAccount& account : accounts_of(printed)) {
    std::string line = account.words;
    if (with_numbers) {
      std::string list;
      for (const std::string& label : account.labels) list += (list.empty() ? "" : ", ") + label;
      line = fmt::format("mostly from {}: {}", line, list);
    }
    const std::string reading = reading_for(bands, setup, account.words, *account.most);
    if (!reading.empty()) line += (with_numbers ? "; to narrow it: " : ": ") + reading;
    if (!with_numbers && reading.empty()) continue;
    if (!with_numbers) line = "to narrow what comes from " + line;
    text += wrapped(line, line_width(), 2) + "\n";
  }
  return text;
}

}  // namespace plunge
