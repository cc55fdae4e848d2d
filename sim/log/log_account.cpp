#include "sim/log/log_account.hpp"

#include <algorithm>
#include <cmath>

#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

constexpr char kTravelUsed[] = "travel_max";

// How closely a prediction belongs to a ride; 0: not at all.
int closeness(const LogEntry& prediction, const LogEntry& ride) {
  if (prediction.reference("ride") >= 0) return prediction.reference("ride") == ride.number ? 3 : 0;
  if (prediction.reference("setting") != ride.reference("setting")) return 0;
  const std::string scene = prediction.text("scene");
  if (scene.empty()) return 1;
  return scene == ride.text("scene") ? 2 : 0;
}

AccountSum sum_of(const std::vector<AccountRow>& rows, bool foretold) {
  std::vector<double> errors;
  AccountSum sum;
  for (const AccountRow& row : rows) {
    if (row.foretold != foretold) continue;
    errors.push_back(row.error);
    if (!(row.low <= row.high)) continue;
    ++sum.banded;
    if (row.low <= row.ring && row.ring <= row.high) ++sum.inside;
  }
  sum.rides = errors.size();
  if (errors.empty()) return sum;
  sum.mean = mean(errors);
  const auto n = static_cast<double>(errors.size());
  if (errors.size() > 1) sum.spread = rms_about_mean(errors) * std::sqrt(n / (n - 1.0));
  return sum;
}

}  // namespace

LogAccount account_of(const LogContent& log) {
  LogAccount account;
  const std::vector<const LogEntry*> predictions = log.of("prediction");
  for (const LogEntry* ride : log.of("ride")) {
    if (ride->find("ring") == nullptr) continue;
    const LogEntry* best = nullptr;
    for (const LogEntry* one : predictions) {
      const int close = closeness(*one, *ride);
      if (close == 0 || !one->numbers.contains(kTravelUsed)) continue;
      if (best == nullptr || close >= closeness(*best, *ride)) best = one;
    }
    if (best == nullptr) continue;
    AccountRow row;
    row.ride = ride->number;
    row.setting = ride->reference("setting");
    row.prediction = best->number;
    row.scene = ride->text("scene");
    row.predicted = best->numbers.find(kTravelUsed)->second;
    row.ring = ride->quantity("ring");
    row.error = row.ring - row.predicted;
    row.low = best->quantity("ring_low");
    row.high = best->quantity("ring_high");
    row.foretold = best->number < ride->number;
    account.rows.push_back(row);
  }
  account.foretold = sum_of(account.rows, true);
  account.afterwards = sum_of(account.rows, false);
  return account;
}

}  // namespace plunge
