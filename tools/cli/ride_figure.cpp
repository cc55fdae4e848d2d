#include "tools/cli/ride_figure.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <utility>

#include "models/laws/constants.hpp"
#include "models/setup/damper_readings.hpp"
#include "models/setup/parameters.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/utf8.hpp"
#include "tools/cli/paints.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

constexpr double kLongRide = 40.0;      // from which bands are drawn: chosen [s]
constexpr double kMostBins = 600.0;     // of a band
constexpr double kFlat = 1e-3;          // ground that rises and falls by less is flat [m]
constexpr std::size_t kMostSpots = 12;  // rides whose peaks are marked
constexpr std::size_t kMostBands = 2;   // rides of which more than an end is drawn
constexpr std::size_t kNear = 12;       // samples to each side among which a ground is looked for
constexpr double kLongest = 0.5;    // of a stroke before and after its deepest travel: chosen [s]
constexpr double kValley = 0.1;     // of that travel, by which a valley is parted from it
constexpr double kNearEnd = 0.8;    // of full travel, from which that is shown beside a stroke
constexpr double kDeepPart = 0.85;  // share of it from which a stroke is enlarged
constexpr double kMargin = 0.003;   // beside what is enlarged [s]

// ---- values ----

// A trace in the unit in which people say it.
std::vector<double> said(const Result& ride, const ChannelRow& row) {
  return in_common_unit(channel(ride, row.name), row.said);
}

std::string axis_of(const ChannelRow& row) { return with_unit(row.label, row.said); }

// Full travel [m]; a file says it by the share that is used of it.
double full_travel(const Result& ride) {
  if (std::isfinite(ride.setup.fork.travel)) return ride.setup.fork.travel;
  return metric(ride, "travel_max") / metric(ride, "travel_use");
}

// That of all rides, or NaN where they differ.
double common_full_travel(const std::vector<DrawnRide>& rides) {
  const double full = full_travel(*rides[0].ride);
  const bool same = std::ranges::all_of(rides, [&](const DrawnRide& drawn) {
    return std::abs(full_travel(*drawn.ride) - full) < 1e-6;
  });
  return same ? full : kUnset;
}

// How deep each ride goes, at its samples: a ride that failed has no metrics.
std::vector<double> depths_of(const std::vector<DrawnRide>& rides) {
  std::vector<double> depths;
  for (const DrawnRide& drawn : rides) {
    depths.push_back(std::ranges::max(channel(*drawn.ride, "travel")));
  }
  return depths;
}

// Where a trace is largest, or largest in size.
std::size_t peak_of(const std::vector<double>& values, bool size) {
  std::size_t at = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const bool more = size ? std::abs(values[i]) > std::abs(values[at]) : values[i] > values[at];
    if (more) at = i;
  }
  return at;
}

// The traces whose peaks are metrics.
struct PeakRow {
  const char* channel;
  const char* metric;
  bool size;
};
constexpr std::array<PeakRow, 4> kPeaks = {{{"travel", "travel_max", false},
                                            {"fork_force", "fork_force_max", false},
                                            {"ground_force", "ground_force_max", false},
                                            {"hand_force", "hand_force_max", true}}};

const PeakRow* peak_row(std::string_view channel) {
  const auto found = std::ranges::find(kPeaks, channel, &PeakRow::channel);
  return found == kPeaks.end() ? nullptr : &*found;
}

// A number with its unit, as its row says it.
std::string words_of(double value, const Label& label) {
  const std::string unit = unit_of(label.said);
  return in_said(value, label) + (unit.empty() ? "" : " " + unit);
}

// The least of 1, 2 and 5 times a power of ten that is not below a value above 0, but for rounding.
double round_above(double value) {
  const double power = std::pow(10.0, std::floor(std::log10(value)));
  for (const double digit : {1.0, 2.0, 5.0}) {
    if (digit * power * (1.0 + 1e-9) >= value) return digit * power;
  }
  return 10.0 * power;
}

// Values over places that rise, at other places that do; NaN beyond them.
std::vector<double> interpolated(const std::vector<double>& x, const std::vector<double>& y,
                                 const std::vector<double>& places) {
  std::vector<double> values;
  std::size_t k = 1;
  for (const double place : places) {
    while (k + 1 < x.size() && x[k] < place) ++k;
    if (x.size() < 2 || place < x.front() || place > x.back()) {
      values.push_back(kUnset);
      continue;
    }
    const double step = x[k] - x[k - 1];
    const double share = step > 0.0 ? std::clamp((place - x[k - 1]) / step, 0.0, 1.0) : 0.0;
    values.push_back(y[k - 1] + share * (y[k] - y[k - 1]));
  }
  return values;
}

double length_of(const std::vector<double>& places) { return places.back() - places.front(); }

// ---- the ground ----

bool is_flat(const Result& ride) {
  const auto [low, high] = std::ranges::minmax(channel(ride, "path_height"));
  return high - low < kFlat;
}

// Whether each height of one ride lies among those that another has near that place, as they need
// not be sampled at the same ones; as far as both go.
bool lies_on_ground(const Result& a, const Result& b) {
  const std::vector<double>& places = channel(a, "distance");
  const std::vector<double>& heights = channel(a, "path_height");
  const std::vector<double>& x = channel(b, "distance");
  const std::vector<double>& y = channel(b, "path_height");
  std::size_t k = 0;
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (places[i] < x.front() || places[i] > x.back()) continue;
    while (k + 1 < x.size() && x[k] < places[i]) ++k;
    const std::size_t first = k - std::min(k, kNear);
    const std::size_t end = std::min(k + kNear, x.size());
    const auto near = std::span(y).subspan(first, end - first);
    const auto [low, high] = std::ranges::minmax(near);
    if (heights[i] < low - kFlat || heights[i] > high + kFlat) return false;
  }
  return true;
}

bool same_ground(const Result& a, const Result& b) {
  return lies_on_ground(a, b) && lies_on_ground(b, a);
}

// ---- the rides and their axis ----

// The rides of a figure, how they are painted, and what they are drawn over.
class RidePanels {
 public:
  RidePanels(const std::vector<DrawnRide>& rides, std::vector<Paint> paints)
      : rides_(rides), paints_(std::move(paints)) {
    for (const DrawnRide& drawn : rides_) {
      long_ = long_ || length_of(drawn.ride->time) > kLongRide;
    }
    over_time_ = long_ && have_one_pace();
    double longest = 0.0;
    for (const DrawnRide& drawn : rides_) {
      longest = std::max(longest, length_of(over(*drawn.ride)));
    }
    bin_ = round_above(std::max(longest, 1e-9) / kMostBins);
    deepest_ = peak_of(depths_of(rides_), false);
    find_parts();
  }

  bool is_long() const { return long_; }

  std::string title() const {
    if (!long_) return "the whole ride";
    return fmt::format("the whole ride, {} of every {:g} {}",
                       has_bands() ? "lowest to highest" : "highest", bin_,
                       over_time_ ? "s" : find_channel("distance")->said);
  }

  // One channel over the whole ride.
  Panel whole(const char* name, bool labelled) const {
    const ChannelRow& row = *find_channel(name);
    Panel panel;
    set_axis(panel);
    panel.y_label = axis_of(row);
    const PeakRow* const peak = peak_row(name);
    const bool both_ends = long_ && !has_bands() && peak != nullptr && peak->size;
    if (both_ends) panel.y_label += ", highest and lowest";
    for (std::size_t i = 0; i < rides_.size(); ++i) {
      const std::string label = labelled ? rides_[i].ride->label : "";
      if (long_) {
        add_band(panel, i, row, label, both_ends);
      } else {
        panel.series.push_back(
            {label, over(*rides_[i].ride), said(*rides_[i].ride, row), Mark::line, paints_[i]});
      }
    }
    mark_window(panel);
    if (peak != nullptr) add_spots(panel, *peak, row, false);
    return panel;
  }

  // The travel of each ride less that of the first, at the same places.
  Panel difference() const {
    const ChannelRow& row = *find_channel("travel");
    Panel panel;
    set_axis(panel);
    panel.height = 0.7;
    panel.y_label =
        with_unit("travel less that of " + printable(rides_[0].ride->label, 30), row.said);
    const Result& first = *rides_[0].ride;
    const std::vector<double> x = over(first);
    const std::vector<double> base = said(first, row);
    for (std::size_t i = 1; i < rides_.size(); ++i) {
      std::vector<double> y = interpolated(over(*rides_[i].ride), said(*rides_[i].ride, row), x);
      for (std::size_t k = 0; k < y.size(); ++k) y[k] -= base[k];
      panel.series.push_back({"", x, std::move(y), Mark::line, paints_[i]});
    }
    mark_window(panel);
    return panel;
  }

  // The ground, once where all ride over the same, or no panel where it is flat.
  std::vector<Panel> ground() const {
    const auto ride_of = [](const DrawnRide& drawn) -> const Result& { return *drawn.ride; };
    if (std::ranges::all_of(rides_, is_flat, ride_of)) return {};
    const Result& farthest = *std::ranges::max_element(rides_, {}, [](const DrawnRide& drawn) {
                                return length_of(channel(*drawn.ride, "distance"));
                              })->ride;
    const bool same = std::ranges::all_of(
        rides_, [&](const Result& ride) { return same_ground(ride, farthest); }, ride_of);
    const ChannelRow& row = *find_channel("path_height");
    Panel panel;
    set_axis(panel);
    panel.height = 0.55;
    panel.y_label = axis_of(row);
    const auto add = [&](const Result& ride, const Paint& paint) {
      panel.series.push_back({"", over(ride), said(ride, row), Mark::line, paint});
    };
    constexpr int kDark = 6;  // of the palette
    if (same) {
      add(farthest, {kDark});
    } else {
      panel.y_label += ", of each ride its own";
      for (std::size_t i = 0; i < rides_.size(); ++i) add(*rides_[i].ride, paints_[i]);
    }
    mark_window(panel);
    return {std::move(panel)};
  }

  // The depth of the deepest stroke over distance, beside fork force over travel of all of it.
  std::vector<Panel> enlarged() const {
    if (rides_[deepest_].moment->time.empty()) return {};
    const ChannelRow& distance = *find_channel("distance");
    const ChannelRow& travel = *find_channel("travel");
    const ChannelRow& force = *find_channel("fork_force");
    Panel depth;
    depth.title = fmt::format("the deepest travel, {} below", long_ ? "at the mark" : "shaded");
    depth.x_label = axis_of(distance);
    depth.y_label = axis_of(travel);
    Panel loop;
    loop.title = "the same stroke, force over travel";
    loop.x_label = axis_of(travel);
    loop.y_label = axis_of(force);
    loop.beside = true;
    for (std::size_t i = 0; i < rides_.size(); ++i) {
      const Result& moment = *rides_[i].moment;
      const auto take = [&](const ChannelRow& row, const std::vector<std::size_t>& samples) {
        const std::vector<double>& whole = channel(moment, row.name);
        std::vector<double> values;
        for (const std::size_t k : samples) values.push_back(whole[k]);
        return in_common_unit(std::move(values), row.said);
      };
      const std::vector<std::size_t> deep = within(depth_, moment);
      const std::vector<std::size_t> stroke = within(stroke_, moment);
      depth.series.push_back(
          {peak_label(i), take(distance, deep), take(travel, deep), Mark::line, paints_[i]});
      loop.series.push_back(
          {"", take(travel, stroke), take(force, stroke), Mark::line, paints_[i]});
    }
    const Result& deepest = *rides_[deepest_].ride;
    if (metric(deepest, "travel_max") > kNearEnd * full_travel(deepest)) {
      add_full_travel(depth, false);
      add_full_travel(loop, true);
    }
    add_spots(depth, kPeaks[0], travel, true);
    std::vector<Panel> panels;
    panels.push_back(std::move(depth));
    panels.push_back(std::move(loop));
    return panels;
  }

  void add_full_travel(Panel& panel, bool vertical) const {
    const double full = common_full_travel(rides_);
    if (!std::isfinite(full)) return;
    panel.references.push_back(
        {"full travel", in_common_unit(full, find_channel("travel")->said), vertical});
  }

 private:
  std::vector<double> over(const Result& ride) const {
    return over_time_ ? ride.time : said(ride, *find_channel("distance"));
  }

  void set_axis(Panel& panel) const {
    panel.clock = over_time_;
    panel.x_label = over_time_ ? "time [min:s]" : axis_of(*find_channel("distance"));
  }

  // Whether all are at the same place at the same time, but for what nobody sees.
  bool have_one_pace() const {
    const Result& first = *rides_[0].ride;
    const std::vector<double>& places = channel(first, "distance");
    const double unseen = length_of(places) / kMostBins;
    return std::ranges::all_of(rides_, [&](const DrawnRide& drawn) {
      const Result& ride = *drawn.ride;
      const std::vector<double> there =
          interpolated(ride.time, channel(ride, "distance"), first.time);
      for (std::size_t k = 0; k < there.size(); ++k) {
        if (std::abs(there[k] - places[k]) > unseen) return false;
      }
      return true;
    });
  }

  // Both ends of every bin; of more rides they would hide one another.
  bool has_bands() const { return rides_.size() <= kMostBands; }

  // A part of the way [m].
  struct Part {
    double from = kUnset;
    double to = kUnset;
  };

  // The samples around the peak of a trace, as far as it stays above a share of that, and a stroke
  // is long.
  static std::pair<std::size_t, std::size_t> above(const Result& moment, std::size_t peak,
                                                   double share) {
    const std::vector<double>& travel = channel(moment, "travel");
    const std::vector<double>& time = moment.time;
    const auto goes_on = [&](std::size_t k) {
      return std::abs(time[k] - time[peak]) < kLongest && travel[k] > share * travel[peak];
    };
    std::size_t first = peak;
    while (first > 0 && goes_on(first)) --first;
    std::size_t last = peak;
    while (last + 1 < time.size() && goes_on(last)) ++last;
    return {first, last};
  }

  // From the valley before a peak to the one after it.
  static std::pair<std::size_t, std::size_t> stroke_around(const Result& moment, std::size_t peak) {
    const std::vector<double>& travel = channel(moment, "travel");
    const auto [begin, end] = above(moment, peak, -1.0);
    const double apart = kValley * travel[peak];
    std::size_t first = peak;
    for (std::size_t k = peak; k > begin && travel[k] < travel[first] + apart; --k) {
      if (travel[k] < travel[first]) first = k;
    }
    std::size_t last = peak;
    for (std::size_t k = peak; k < end && travel[k] < travel[last] + apart; ++k) {
      if (travel[k] < travel[last]) last = k;
    }
    return {first, last};
  }

  void find_parts() {
    const Result& moment = *rides_[deepest_].moment;
    if (moment.time.empty()) return;
    const std::vector<double>& distance = channel(moment, "distance");
    const std::vector<double>& time = moment.time;
    const std::size_t peak = peak_of(channel(moment, "travel"), false);
    auto [first, last] = above(moment, peak, kDeepPart);
    const double from = time[first] - kMargin;
    const double to = time[last] + kMargin;
    while (first > 0 && time[first] > from) --first;
    while (last + 1 < time.size() && time[last] < to) ++last;
    depth_ = {distance[first], distance[last]};
    const auto [begin, end] = stroke_around(moment, peak);
    stroke_ = {distance[begin], distance[end]};
    deepest_at_ = over_time_ ? time[peak] : said(moment, *find_channel("distance"))[peak];
  }

  static std::vector<std::size_t> within(const Part& part, const Result& moment) {
    const std::vector<double>& distance = channel(moment, "distance");
    std::vector<std::size_t> samples;
    for (std::size_t k = 0; k < distance.size(); ++k) {
      if (distance[k] >= part.from && distance[k] <= part.to) samples.push_back(k);
    }
    return samples;
  }

  // Its name with how deep it goes; empty where a single one has that at its mark.
  std::string peak_label(std::size_t i) const {
    if (rides_.size() < 2) return "";
    const Result& ride = *rides_[i].ride;
    const double depth = metric(ride, "travel_max");
    if (!std::isfinite(depth) || !is_enlarged_at_its_deepest(i)) return ride.label;
    return ride.label + ", " + words_of(depth, *find_metric("travel_max"));
  }

  bool is_enlarged_at_its_deepest(std::size_t i) const {
    const Result& moment = *rides_[i].moment;
    if (moment.time.empty()) return false;
    const double at = channel(moment, "distance")[peak_of(channel(moment, "travel"), false)];
    return at >= depth_.from && at <= depth_.to;
  }

  void mark_window(Panel& panel) const {
    if (long_) {
      panel.references.push_back({"", deepest_at_, true});
      return;
    }
    const ChannelRow& distance = *find_channel("distance");
    panel.zones.push_back({in_common_unit(depth_.from, distance.said),
                           in_common_unit(depth_.to, distance.said), "", true});
  }

  // The low and high values of stretches of equal length, the same of all rides.
  void add_band(Panel& panel, std::size_t number, const ChannelRow& row, const std::string& label,
                bool both_ends) const {
    const Result& ride = *rides_[number].ride;
    const std::vector<double> values = said(ride, row);
    const std::vector<double> x = over(ride);
    Series band{"", {}, {}, Mark::band, paints_[number]};
    double bin = kUnset;
    for (std::size_t i = 0; i < values.size(); ++i) {
      const double at = std::floor(x[i] / bin_);
      if (at != bin) {
        bin = at;
        band.x.push_back(std::max(x.front(), std::min((bin + 0.5) * bin_, x.back())));
        band.low.push_back(values[i]);
        band.high.push_back(values[i]);
      }
      band.low.back() = std::min(band.low.back(), values[i]);
      band.high.back() = std::max(band.high.back(), values[i]);
    }
    Series high{label, band.x, band.high, Mark::line, paints_[number]};
    Series low{"", band.x, band.low, Mark::line, paints_[number]};
    if (has_bands()) panel.series.push_back(std::move(band));
    panel.series.push_back(std::move(high));
    if (both_ends) panel.series.push_back(std::move(low));
  }

  // At the sample where the trace is largest, with the value that was located beside it.
  void add_spots(Panel& panel, const PeakRow& peak, const ChannelRow& row, bool enlarged) const {
    if (rides_.size() > kMostSpots) return;
    const MetricRow& metric_row = *find_metric(peak.metric);
    for (std::size_t i = 0; i < rides_.size(); ++i) {
      const Result& trace = enlarged ? *rides_[i].moment : *rides_[i].ride;
      if (trace.time.empty()) continue;
      const std::vector<double>& values = channel(trace, peak.channel);
      const std::size_t at = peak_of(values, peak.size);
      const double distance = channel(trace, "distance")[at];
      if (enlarged && !(distance >= depth_.from && distance <= depth_.to)) continue;
      const double value = metric(*rides_[i].ride, peak.metric);
      const double sign = peak.size && values[at] < 0.0 ? -1.0 : 1.0;
      panel.spots.push_back({over_time_ && !enlarged
                                 ? trace.time[at]
                                 : in_common_unit(distance, find_channel("distance")->said),
                             in_common_unit(sign * value, row.said),
                             rides_.size() == 1 ? words_of(value, metric_row) : "", paints_[i]});
    }
  }

  const std::vector<DrawnRide>& rides_;
  std::vector<Paint> paints_;
  bool long_ = false;
  bool over_time_ = false;
  double bin_ = kUnset;  // of bands, in the unit of the axis
  std::size_t deepest_ = 0;
  Part depth_;                  // what is enlarged
  Part stroke_;                 // all of the stroke
  double deepest_at_ = kUnset;  // on the axis
};

// ---- the strip ----

StripColumn metric_column(const std::vector<DrawnRide>& rides, const Label& label) {
  StripColumn column{label.label, unit_of(label.said), {}};
  for (const DrawnRide& drawn : rides) {
    column.texts.push_back(in_said(metric(*drawn.ride, label.name), label));
  }
  return column;
}

bool any_has(const std::vector<DrawnRide>& rides, const char* name) {
  return std::ranges::any_of(
      rides, [&](const DrawnRide& drawn) { return std::isfinite(metric(*drawn.ride, name)); });
}

// Bars of a metric.
StripColumn bar_column(const std::vector<DrawnRide>& rides, const char* name) {
  const Label& label = *find_metric(name);
  StripColumn column = metric_column(rides, label);
  for (const DrawnRide& drawn : rides) {
    column.values.push_back(in_common_unit(metric(*drawn.ride, name), label.said));
  }
  return column;
}

// Clicks from closed of a direction, "3" or low and high speed as "3/1".
std::string clicks_of(const DamperSetup& damper) {
  std::string text;
  for (const Adjuster& adjuster : adjusters_of(damper)) {
    const double position = damper.*adjuster.position;
    if (std::isfinite(position)) text += fmt::format("{}{:g}", text.empty() ? "" : "/", position);
  }
  return text;
}

Panel strip_of(const std::vector<DrawnRide>& rides, const std::vector<Paint>& paints,
               const std::vector<StripColumn>& settings) {
  Panel panel;
  Strip& strip = panel.strip;
  strip.paints = paints;
  for (const DrawnRide& drawn : rides) {
    const std::string& fork = drawn.ride->setup.fork.name;
    strip.rows.push_back(rides.size() == 1 && !fork.empty() ? fork : drawn.ride->label);
  }
  strip.columns = settings;
  StripColumn travel = bar_column(rides, "travel_max");
  travel.limit = in_common_unit(common_full_travel(rides), find_metric("travel_max")->said);
  for (const DrawnRide& drawn : rides) {
    const double contacts = metric(*drawn.ride, "metal_contacts");
    travel.warnings.push_back(contacts > 0.0 ? fmt::format("{:g} × metal", contacts) : "");
  }
  strip.columns.push_back(std::move(travel));
  for (const char* name : {"fork_force_max", "hand_force_max", "brake_dive_max"}) {
    if (any_has(rides, name)) strip.columns.push_back(bar_column(rides, name));
  }
  return panel;
}

}  // namespace

std::vector<StripColumn> settings_of(const std::vector<DrawnRide>& rides, bool bar) {
  std::vector<StripColumn> columns;
  const auto add = [&](StripColumn column) {
    const bool any = std::ranges::any_of(
        column.texts, [](const std::string& text) { return !text.empty() && text != "-"; });
    if (any) columns.push_back(std::move(column));
  };
  StripColumn spacers{"spacers", "", {}};
  StripColumn compression{"compression", "clicks", {}};
  StripColumn rebound{"rebound", "clicks", {}};
  bool labelled = false;  // by their spacers
  for (const DrawnRide& drawn : rides) {
    const ForkSetup& fork = drawn.ride->setup.fork;
    labelled =
        labelled || std::ranges::count(drawn.ride->set, "fork.spacers", &NamedValue::name) > 0;
    spacers.texts.push_back(fork.spring == Spring::air && std::isfinite(fork.spacers)
                                ? fmt::format("{:g}", fork.spacers)
                                : "");
    compression.texts.push_back(clicks_of(fork.compression));
    rebound.texts.push_back(clicks_of(fork.rebound));
  }
  if (!labelled) add(std::move(spacers));
  for (const char* name : {"pressure", "sag"}) {
    if (any_has(rides, name)) add(metric_column(rides, in_bar(*find_metric(name), bar)));
  }
  add(std::move(compression));
  add(std::move(rebound));
  return columns;
}

Figure ride_figure(const std::vector<DrawnRide>& rides, const RideFigureWords& words) {
  Figure figure;
  figure.title = words.title;
  if (rides.empty()) {
    figure.panels.emplace_back();
    return figure;
  }
  std::vector<std::vector<NamedValue>> variants;
  for (const DrawnRide& drawn : rides) variants.push_back(drawn.ride->set);
  std::vector<Paint> paints = paints_of(variants);
  const bool by_travel = look_alike(paints);
  if (by_travel) paints = shades_by(depths_of(rides));
  const RidePanels panels(rides, paints);
  figure.panels.push_back(strip_of(rides, paints, words.settings));
  if (by_travel) figure.panels.back().title = "the darker, the more travel is used";
  for (Panel& panel : panels.enlarged()) figure.panels.push_back(std::move(panel));
  Panel travel = panels.whole("travel", rides.size() > 1);
  panels.add_full_travel(travel, false);
  travel.title = panels.title();
  figure.panels.push_back(std::move(travel));
  if (rides.size() > 1 && !panels.is_long()) figure.panels.push_back(panels.difference());
  for (const char* name : {"fork_force", "ground_force", "hand_force"}) {
    Panel panel = panels.whole(name, false);
    panel.height = 0.7;
    figure.panels.push_back(std::move(panel));
  }
  for (Panel& panel : panels.ground()) figure.panels.push_back(std::move(panel));
  return figure;
}

}  // namespace plunge
