#include "sim/report/sensitivity.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <functional>
#include <numeric>
#include <stdexcept>

#include "sim/numerics/random.hpp"
#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

constexpr std::uint64_t kSeed = 20100210;  // of the bootstrap
constexpr double kLowEnd = 2.5;            // percentile of the low end of an interval

// Sums over base rows of what the indices follow from. Rows are put together into units, which the
// bootstrap draws.
class Sums {
 public:
  Sums(std::size_t rows, std::size_t width)
      : width_(width), units_(std::min(rows, kUnits)), values_(units_ * width), unit_of_(rows) {
    std::iota(unit_of_.begin(), unit_of_.end(), std::size_t{0});
    if (rows > units_) {
      SplitMix64 generator(kSeed);
      for (std::size_t i = rows - 1; i > 0; --i) {
        std::swap(unit_of_[i], unit_of_[below(generator, i + 1)]);
      }
    }
    for (std::size_t& unit : unit_of_) unit %= units_;
  }

  std::span<double> of_row(std::size_t row) {
    return std::span(values_).subspan(unit_of_[row] * width_, width_);
  }
  std::vector<double> all() const {
    std::vector<double> sum(width_, 0.0);
    for (std::size_t unit = 0; unit < units_; ++unit) add(unit, sum);
    return sum;
  }
  std::vector<double> drawn(SplitMix64& generator) const {
    std::vector<double> sum(width_, 0.0);
    for (std::size_t i = 0; i < units_; ++i) add(below(generator, units_), sum);
    return sum;
  }

 private:
  void add(std::size_t unit, std::vector<double>& sum) const {
    const double* values = values_.data() + unit * width_;
    for (std::size_t i = 0; i < width_; ++i) sum[i] += values[i];
  }

  std::size_t width_;
  std::size_t units_;
  std::vector<double> values_;
  std::vector<std::size_t> unit_of_;
};

// Estimates from sums, with intervals. `truth`: the plug-in estimate on the full sample, the centre
// about which bootstrap estimates scatter.
using Estimate = std::function<std::vector<double>(const std::vector<double>& sums)>;

std::vector<Index> with_intervals(const Sums& sums, const Estimate& estimate,
                                  const Estimate& truth) {
  const std::vector<double> all = sums.all();
  const std::vector<double> values = estimate(all);
  const std::vector<double> centre = truth(all);
  std::vector<std::vector<double>> drawn(values.size());
  SplitMix64 generator(kSeed);
  for (std::size_t i = 0; i < kReplicates; ++i) {
    const std::vector<double> one = estimate(sums.drawn(generator));
    for (std::size_t k = 0; k < one.size(); ++k) {
      if (std::isfinite(one[k])) drawn[k].push_back(one[k]);
    }
  }
  std::vector<Index> indices(values.size());
  for (std::size_t k = 0; k < values.size(); ++k) {
    indices[k].value = values[k];
    if (drawn[k].empty()) continue;
    const double low = percentile_in(drawn[k], kLowEnd);
    const double high = percentile_in(drawn[k], 100.0 - kLowEnd);
    indices[k].low = std::max(values[k] - (high - centre[k]), std::min(values[k], 0.0));
    indices[k].high = std::max(values[k] + (centre[k] - low), centre[k]);
  }
  return indices;
}

// The grid: its cells in order, some of them left out.
class Grid {
 public:
  Grid(const SensitivityInputs& inputs, std::size_t points, std::span<const double> outputs) {
    for (const SensitivityInputs::Axis& axis : inputs.grid) {
      cells_ *= axis.size;
      if (axis.size > 1) axes_.push_back({axis.name, axis.size, 1});
    }
    std::size_t stride = 1;
    for (std::size_t axis = axes_.size(); axis-- > 0;) {
      axes_[axis].stride = stride;
      stride *= axes_[axis].size;
    }
    if (outputs.size() != cells_ * points) {
      throw std::invalid_argument("outputs do not fit the grid and the sample");
    }
    there_.resize(cells_);
    for (std::size_t cell = 0; cell < cells_; ++cell) {
      const auto values = outputs.subspan(cell * points, points);
      there_[cell] = std::ranges::any_of(values, [](double y) { return std::isfinite(y); });
      count_ += there_[cell] ? 1 : 0;
    }
  }

  struct Axis {
    std::string name;
    std::size_t size;
    std::size_t stride;
  };

  std::size_t cells() const { return cells_; }
  std::size_t count() const { return count_; }  // of the cells that are there
  bool there(std::size_t cell) const { return there_[cell]; }
  const std::vector<Axis>& axes() const { return axes_; }
  std::size_t level(const Axis& axis, std::size_t cell) const {
    return cell / axis.stride % axis.size;
  }

  // Cells that are there with each value of an axis.
  std::vector<double> weights(const Axis& axis) const {
    std::vector<double> weights(axis.size, 0.0);
    for (std::size_t cell = 0; cell < cells_; ++cell) {
      if (there_[cell]) weights[level(axis, cell)] += 1.0;
    }
    return weights;
  }

  // Σ over the lines along an axis of Σ (y − mean of the line)².
  template <class Output>
  double within_lines(const Axis& axis, Output&& output) const {
    double total = 0.0;
    for (std::size_t begin = 0; begin < cells_; ++begin) {
      if (level(axis, begin) != 0) continue;
      double mean = 0.0, squares = 0.0, n = 0.0;
      for (std::size_t i = 0; i < axis.size; ++i) {
        const std::size_t cell = begin + i * axis.stride;
        if (!there_[cell]) continue;
        n += 1.0;  // Welford 1962
        const double y = output(cell);
        const double step = y - mean;
        mean += step / n;
        squares += step * (y - mean);
      }
      total += squares;
    }
    return total;
  }

 private:
  std::vector<Axis> axes_;
  std::vector<bool> there_;
  std::size_t cells_ = 1;
  std::size_t count_ = 0;
};

// Class of each row by its value: equal counts, equal values together.
std::vector<std::size_t> classes_of(const std::vector<double>& x,
                                    const std::vector<std::size_t>& rows, std::size_t classes) {
  std::vector<std::size_t> order(rows.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::sort(order, [&](std::size_t a, std::size_t b) {
    return x[rows[a]] != x[rows[b]] ? x[rows[a]] < x[rows[b]] : a < b;
  });
  std::vector<std::size_t> class_of(rows.size());
  for (std::size_t rank = 0; rank < order.size(); ++rank) {
    const bool same = rank > 0 && x[rows[order[rank]]] == x[rows[order[rank - 1]]];
    class_of[order[rank]] = same ? class_of[order[rank - 1]] : rank * classes / order.size();
  }
  return class_of;
}

class Analysis {
 public:
  Analysis(const SensitivityInputs& inputs, std::span<const double> outputs)
      : inputs_(inputs),
        outputs_(outputs),
        freeze_(inputs.design == Design::pick_freeze),
        each_(freeze_ ? inputs.sampled.size() + 2 : 1),
        points_(inputs.design == Design::none ? 1 : inputs.base_points * each_),
        grid_(inputs, points_, outputs) {
    for (const SensitivityInputs::Number& number : inputs.sampled) {
      if (number.values.size() != points_) {
        throw std::invalid_argument("the values of " + number.name + " do not fit the sample");
      }
    }
  }

  Sensitivity find() {
    result_.not_numbers = static_cast<std::size_t>(
        std::ranges::count_if(outputs_, [](double y) { return !std::isfinite(y); }));
    result_.cells_left = grid_.cells() - grid_.count();
    keep_rows();
    result_.outputs = grid_.count() * rows_.size() * each_;
    if (grid_.axes().empty() && inputs_.sampled.empty()) {
      result_.why_none = "nothing is varied";
    } else if (grid_.count() == 0) {
      result_.why_none = "it has no value in any ride";
    } else if (inputs_.design != Design::none && rows_.size() < kFewestRows) {
      result_.why_none = "too few rows of the sample are complete";
    } else {
      centre_outputs();
      if (varies()) {
        measure();
      } else {
        result_.variance = 0.0;
        result_.why_none = "it does not vary";
      }
    }
    return std::move(result_);
  }

 private:
  double output(std::size_t cell, std::size_t base, std::size_t matrix) const {
    return outputs_[cell * points_ + base * each_ + matrix] - centre_;
  }

  template <class Use>
  void for_cells(Use&& use) const {
    for (std::size_t cell = 0; cell < grid_.cells(); ++cell) {
      if (grid_.there(cell)) use(cell);
    }
  }

  void keep_rows() {
    const std::size_t bases = points_ / each_;
    std::vector<bool> complete(bases, true);
    for_cells([&](std::size_t cell) {
      for (std::size_t point = 0; point < points_; ++point) {
        if (!std::isfinite(outputs_[cell * points_ + point])) complete[point / each_] = false;
      }
    });
    for (std::size_t base = 0; base < bases; ++base) {
      if (complete[base]) rows_.push_back(base);
    }
    result_.rows_left = inputs_.design == Design::none ? 0 : bases - rows_.size();
  }

  // Matrices whose rows are a plain sample: A and B.
  std::size_t plain() const { return freeze_ ? 2 : 1; }

  void centre_outputs() {
    double sum = 0.0;
    for_cells([&](std::size_t cell) {
      for (const std::size_t base : rows_) {
        for (std::size_t m = 0; m < plain(); ++m) sum += output(cell, base, m);
      }
    });
    centre_ = sum / static_cast<double>(grid_.count() * rows_.size() * plain());
  }

  bool varies() const {
    bool varies = false;
    double first = kUnset;
    for_cells([&](std::size_t cell) {
      for (const std::size_t base : rows_) {
        for (std::size_t m = 0; m < each_; ++m) {
          const double y = output(cell, base, m);
          if (std::isnan(first)) first = y;
          // Past what rounding of the same number may bring.
          varies |= std::abs(y - first) > 1e-12 * (std::abs(centre_) + std::abs(y));
        }
      }
    });
    return varies;
  }

  // Places the sums: where each stands among what one base row adds.
  //   1; mean of y; mean of y²                 over cells and plain matrices
  //   of each grid axis: sum of y at each level; sum of squares within lines
  //   pick_freeze, of each number: first-order product; half square of Jansen
  //   plain sample, of each number and class: 1; f̄; and once: f̄²
  void place_sums() {
    classes_ = std::clamp<std::size_t>(
        static_cast<std::size_t>(std::sqrt(static_cast<double>(rows_.size()))), 4, 32);
    binned_ = !freeze_ && inputs_.design != Design::none;
    width_ = 3;
    for (const Grid::Axis& axis : grid_.axes()) {
      axis_at_.push_back(width_);
      width_ += axis.size + 1;
      weights_.push_back(grid_.weights(axis));
    }
    for (std::size_t i = 0; i < inputs_.sampled.size(); ++i) {
      number_at_.push_back(width_);
      width_ += binned_ ? 2 * classes_ : 2;
    }
    mean_square_at_ = width_++;
    if (!binned_) return;
    for (const SensitivityInputs::Number& number : inputs_.sampled) {
      class_of_.push_back(classes_of(number.values, rows_, classes_));
    }
  }

  double cells() const { return static_cast<double>(grid_.count()); }

  // Adds what one base row brings.
  void add_row(std::size_t row, std::span<double> add) const {
    const std::size_t base = rows_[row];
    const double share = 1.0 / (cells() * static_cast<double>(plain()));
    std::vector<double> mean(each_, 0.0);
    add[0] += 1.0;
    for_cells([&](std::size_t cell) {
      for (std::size_t m = 0; m < each_; ++m) mean[m] += output(cell, base, m) / cells();
      for (std::size_t m = 0; m < plain(); ++m) {
        const double y = output(cell, base, m);
        add[1] += y * share;
        add[2] += y * y * share;
        for (std::size_t a = 0; a < axis_at_.size(); ++a) {
          add[axis_at_[a] + grid_.level(grid_.axes()[a], cell)] += y * share;
        }
      }
      if (!freeze_) return;
      for (std::size_t i = 0; i < number_at_.size(); ++i) {
        const double step = output(cell, base, 0) - output(cell, base, 2 + i);
        add[number_at_[i] + 1] += 0.5 * step * step / cells();
      }
    });
    for (std::size_t a = 0; a < axis_at_.size(); ++a) {
      const Grid::Axis& axis = grid_.axes()[a];
      for (std::size_t m = 0; m < plain(); ++m) {
        add[axis_at_[a] + axis.size] += share * grid_.within_lines(axis, [&](std::size_t cell) {
          return output(cell, base, m);
        });
      }
    }
    for (std::size_t i = 0; i < number_at_.size(); ++i) {
      if (freeze_) add[number_at_[i]] += mean[1] * (mean[2 + i] - mean[0]);
      if (binned_) {
        add[number_at_[i] + 2 * class_of_[i][row]] += 1.0;
        add[number_at_[i] + 2 * class_of_[i][row] + 1] += mean[0];
      }
    }
    add[mean_square_at_] += mean[0] * mean[0];
  }

  // First and total index of every input, in order, from sums. adjusted: less what chance gives.
  std::vector<double> estimate(const std::vector<double>& s, bool adjusted) const {
    std::vector<double> indices;
    const double n = s[0];
    const double variance = s[2] / n - (s[1] / n) * (s[1] / n);
    for (std::size_t a = 0; a < axis_at_.size(); ++a) {
      indices.push_back(axis_effect(s, a) / variance);
      indices.push_back(s[axis_at_[a] + weights_[a].size()] / n / variance);
    }
    for (std::size_t i = 0; i < number_at_.size(); ++i) {
      if (freeze_) {
        indices.push_back(s[number_at_[i]] / n / variance);
        indices.push_back(s[number_at_[i] + 1] / n / variance);
      } else {
        indices.push_back(class_effect(s, i, adjusted) / n / variance);
        indices.push_back(kUnset);
      }
    }
    return indices;
  }

  // Variance of the means at the levels of an axis.
  double axis_effect(const std::vector<double>& s, std::size_t a) const {
    double effect = 0.0;
    for (std::size_t k = 0; k < weights_[a].size(); ++k) {
      if (weights_[a][k] == 0.0) continue;
      const double weight = weights_[a][k] / cells();
      const double away = s[axis_at_[a] + k] / s[0] / weight - s[1] / s[0];
      effect += weight * away * away;
    }
    return effect;
  }

  // Sum of squares between the classes of a number.
  double class_effect(const std::vector<double>& s, std::size_t i, bool adjusted) const {
    const double n = s[0];
    const double all = s[mean_square_at_] - s[1] * s[1] / n;
    double effect = -s[1] * s[1] / n;
    double used = 0.0;
    for (std::size_t c = 0; c < classes_; ++c) {
      const double count = s[number_at_[i] + 2 * c];
      const double sum = s[number_at_[i] + 2 * c + 1];
      if (count == 0.0) continue;
      effect += sum * sum / count;
      used += 1.0;
    }
    const double chance = n > used ? (used - 1.0) * (all - effect) / (n - used) : 0.0;
    return effect - (adjusted ? chance : 0.0);
  }

  // The indices with their intervals, as the design gives them.
  std::vector<Index> indices_of(const Sums& sums) const {
    const std::vector<double> plug_in = estimate(sums.all(), false);
    std::vector<Index> indices;
    if (inputs_.design == Design::none) {
      for (const double value : plug_in) indices.push_back({value, kUnset, kUnset});
      return indices;
    }
    indices = with_intervals(
        sums, [&](const std::vector<double>& s) { return estimate(s, true); },
        [&](const std::vector<double>& s) { return estimate(s, false); });
    if (inputs_.design != Design::sobol) return indices;
    for (std::size_t i = 0; i < indices.size(); ++i) {
      indices[i].value = plug_in[i];
      indices[i].low = std::max(indices[i].low, 0.0);
    }
    return indices;
  }

  void measure() {
    place_sums();
    Sums sums(rows_.size(), width_);
    for (std::size_t row = 0; row < rows_.size(); ++row) add_row(row, sums.of_row(row));
    const std::vector<double> all = sums.all();
    result_.mean = centre_ + all[1] / all[0];
    result_.variance = all[2] / all[0] - (all[1] / all[0]) * (all[1] / all[0]);

    const std::vector<Index> indices = indices_of(sums);
    std::size_t next = 0;
    const auto take = [&](const std::string& name) {
      result_.inputs.push_back({name, indices[next], indices[next + 1]});
      next += 2;
    };
    for (std::size_t a = 0; a < grid_.axes().size(); ++a) {
      take(grid_.axes()[a].name);
      const auto left =
          weights_[a].size() - static_cast<std::size_t>(std::ranges::count(weights_[a], 0.0));
      if (left < 2) result_.inputs.pop_back();
    }
    for (const SensitivityInputs::Number& number : inputs_.sampled) take(number.name);
  }

  const SensitivityInputs& inputs_;
  const std::span<const double> outputs_;
  const bool freeze_;
  const std::size_t each_;    // rows of a base row
  const std::size_t points_;  // rows of the sample
  const Grid grid_;
  std::vector<std::size_t> rows_;  // base rows that are complete
  std::size_t classes_ = 0;
  bool binned_ = false;    // numbers are measured by classes
  std::size_t width_ = 0;  // of the sums of a row
  std::vector<std::size_t> axis_at_, number_at_;
  std::size_t mean_square_at_ = 0;
  std::vector<std::vector<double>> weights_;        // of each axis' levels
  std::vector<std::vector<std::size_t>> class_of_;  // of each number, by row
  double centre_ = 0.0;
  Sensitivity result_;
};

}  // namespace

Sensitivity sensitivity(const SensitivityInputs& inputs, std::span<const double> outputs) {
  return Analysis(inputs, outputs).find();
}

}  // namespace plunge
