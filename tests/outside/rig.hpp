// Rides of the scenes in tests/outside/data over roads made for a test, and what is read off them.
//
// A road is written as CSV and as a terrain file and read back, so that a test goes the way that a
// user's files go: scene file, terrain file, profile, ride.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <complex>
#include <cstddef>
#include <fstream>
#include <string>
#include <utility>
#include <vector>

#include "models/laws/constants.hpp"
#include "models/setup/judge.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"
#include "tests/outside/record.hpp"
#include "tests/scene_files.hpp"
#include "tests/scratch.hpp"

namespace plunge {

using Terrain = std::vector<Feature>;
using Points = std::vector<std::pair<double, double>>;  // distance and height [m]

// From the text of a terrain file without its head.
inline Terrain terrain_of(const std::string& features) {
  const ScratchDirectory folder;
  std::ofstream(folder / "road.toml") << "type = \"terrain\"\nformat = [1, 0]\n" << features;
  return load_terrain(folder / "road.toml");
}

// From points, joined by a curve ("smooth") or by straight lines ("linear").
inline Terrain road_through(const Points& points, const std::string& join = "smooth") {
  const ScratchDirectory folder;
  std::string csv = "distance [m],height [m]\n";
  for (const auto& [distance, height] : points) csv += fmt::format("{},{}\n", distance, height);
  std::ofstream(folder / "road.csv") << csv;
  std::ofstream(folder / "road.toml")
      << "type = \"terrain\"\nformat = [1, 0]\n[[terrain]]\nkind = \"profile\"\n"
      << "file = \"road.csv\"\njoin = \"" << join << "\"\n";
  return load_terrain(folder / "road.toml");
}

// a (1 - cos 2 pi s/wavelength).
inline Terrain waves(double wavelength, double amplitude, double length) {
  constexpr int kPerWave = 64;
  Points points;
  for (int i = 0; i * wavelength <= length * kPerWave; ++i) {
    const double share = static_cast<double>(i) / kPerWave;
    points.emplace_back(share * wavelength, amplitude * (1.0 - std::cos(2.0 * kPi * share)));
  }
  return road_through(points);
}

// Level, then a push of half a sine: at `speed` the ground rises with (peak) sin(pi t/duration)
// [m/s2]. After that it goes on straight, at the slope that it has.
inline Terrain half_sine_push(double peak, double duration, double speed, double length) {
  constexpr int kPoints = 256;
  const double k = kPi / duration;
  Points points = {{0.0, 0.0}, {0.5, 0.0}};
  for (int i = 0; i <= kPoints; ++i) {
    const double t = duration * i / kPoints;
    points.emplace_back(1.0 + speed * t, peak / k * (t - std::sin(k * t) / k));
  }
  const double step = speed * duration / kPoints;
  const double slope = 2.0 * peak / (k * speed);
  for (double way = step; points.back().first < length; way *= 2.0) {
    points.emplace_back(points.back().first + way, points.back().second + slope * way);
  }
  return road_through(points);
}

// A scene of tests/outside/data on another road.
inline Setup rig(const std::string& scene, Terrain terrain,
                 const std::vector<std::string>& overrides = {}) {
  Setup setup = load_scene("tests/outside/data/" + scene + ".toml", overrides).setup;
  setup.terrain = std::move(terrain);
  for (const Fault& fault : judge(setup)) ADD_FAILURE() << fault.key << ": " << fault.rule;
  return setup;
}

inline Result ridden(const Setup& setup) {
  Result result = run_ride(setup);
  EXPECT_EQ(result.failure, "");
  return result;
}

inline double number_in(const Result& result, const std::string& name) {
  for (const std::vector<Metric>* list : {&result.metrics, &result.energy}) {
    for (const Metric& candidate : *list) {
      if (candidate.name == name) return candidate.value;
    }
  }
  ADD_FAILURE() << "no metric " << name;
  return kUnset;
}

// Amplitude and phase of the part of x that goes with e^(j w t), by least squares on
// x = c + Re(a e^(j w t)) over the samples from `begin` to `end` [s].
inline std::complex<double> wave_in(const std::vector<double>& x, const std::vector<double>& time,
                                    double w, double begin, double end) {
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (time[i] < begin || time[i] > end) continue;
    const Eigen::Vector3d row(1.0, std::cos(w * time[i]), -std::sin(w * time[i]));
    normal += row * row.transpose();
    right += row * x[i];
  }
  const Eigen::Vector3d found = normal.ldlt().solve(right);
  return {found(1), found(2)};
}

inline std::complex<double> wave_in(const Result& result, const std::string& name, double w,
                                    double begin, double end) {
  return wave_in(channel(result, name), result.time, w, begin, end);
}

// Where x turns, from `begin` on, by the parabola through three samples: time and value.
inline Points turning_points(const Result& result, const std::string& name, double begin) {
  const std::vector<double>& x = channel(result, name);
  Points points;
  for (std::size_t i = 1; i + 1 < x.size(); ++i) {
    const double before = x[i] - x[i - 1];
    const double after = x[i + 1] - x[i];
    if (result.time[i] < begin || before * after > 0.0 || before == 0.0) continue;
    const double bend = after - before;
    const double middle = 0.5 * (before + after);
    const double step = result.time[i + 1] - result.time[i];
    points.emplace_back(result.time[i] - step * middle / bend, x[i] - 0.5 * middle * middle / bend);
  }
  return points;
}

// Sum of |v| dt by the trapezoidal rule over the samples from `begin` to `end` [s].
inline double way_of(const Result& result, const std::string& speed, double begin, double end) {
  const std::vector<double>& v = channel(result, speed);
  double sum = 0.0;
  for (std::size_t i = 0; i + 1 < v.size(); ++i) {
    if (result.time[i] < begin || result.time[i + 1] > end) continue;
    sum += 0.5 * (std::abs(v[i]) + std::abs(v[i + 1])) * (result.time[i + 1] - result.time[i]);
  }
  return sum;
}

}  // namespace plunge
