#include "sim/figure/ticks.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace plunge {
namespace {

// 10^n with raised digits.
std::string power_of_ten(int exponent) {
  constexpr std::array<const char*, 10> kRaised = {"⁰", "¹", "²", "³", "⁴",
                                                   "⁵", "⁶", "⁷", "⁸", "⁹"};
  std::string text = exponent < 0 ? "10⁻" : "10";
  for (const char digit : std::to_string(std::abs(exponent))) {
    text += kRaised[static_cast<std::size_t>(digit - '0')];
  }
  return text;
}

// Numbers that are long to write out are a factor times a power of ten.
constexpr double kLargeNumber = 1e6;
constexpr double kSmallStep = 1e-4;

std::string number(double value, double step, double largest) {
  const int step_exponent = static_cast<int>(std::floor(std::log10(step) + 1e-9));
  if (largest < kLargeNumber && step >= kSmallStep) {
    return with_minus(fmt::format("{:.{}f}", value, std::max(0, -step_exponent)));
  }
  if (value == 0.0) return "0";
  const int exponent = static_cast<int>(std::floor(std::log10(largest) + 1e-9));
  const int own_decimals = std::clamp(exponent - step_exponent, 0, 15);
  return with_minus(fmt::format("{:.{}f}", value / std::pow(10.0, exponent), own_decimals)) + "·" +
         power_of_ten(exponent);
}

// Multiples of a step within the range; none where nobody wants so many, or numbers so long.
std::vector<double> multiples(const Range& range, double step) {
  constexpr double kUnreadable = 1000.0;
  constexpr double kLongest = 1e13;
  constexpr double kRounding = 1e-9;
  const double first = std::ceil(range.low / step - kRounding);
  const double last = std::floor(range.high / step + kRounding);
  std::vector<double> values;
  if (!(last - first < kUnreadable) || std::max(-first, last) > kLongest) return values;
  for (double k = first; k <= last; k += 1.0) values.push_back(k * step);
  return values;
}

std::string clock_text(double seconds) {
  const long all = std::lround(std::abs(seconds));
  const long minutes = all / 60 % 60;
  const long hours = all / 3600;
  const std::string text = hours > 0 ? fmt::format("{}:{:02}:{:02}", hours, minutes, all % 60)
                                     : fmt::format("{}:{:02}", minutes, all % 60);
  return seconds < 0.0 ? "−" + text : text;
}

std::string decade_text(double value) {
  const double exponent = std::log10(value);
  constexpr double kWrittenOut = 4.0;
  if (std::abs(exponent) > kWrittenOut) {
    const double whole = std::floor(exponent + 1e-9);
    const long digit = std::lround(value / std::pow(10.0, whole));
    const std::string power = power_of_ten(static_cast<int>(whole));
    return digit == 1 ? power : fmt::format("{}·{}", digit, power);
  }
  return fmt::format("{:g}", value);
}

}  // namespace

std::string with_minus(std::string text) {
  const bool below_zero = text.size() > 1 && text[0] == '-' && text[1] >= '0' && text[1] <= '9';
  if (!below_zero) return text;
  const std::string size = text.substr(1);
  return size.find_first_not_of("0.") == std::string::npos ? size : "−" + size;
}

double position_on(const Range& range, double value, bool logarithmic) {
  return logarithmic ? std::log(value / range.low) / std::log(range.high / range.low)
                     : (value - range.low) / (range.high - range.low);
}

std::vector<Tick> linear_ticks(const Range& range, std::size_t most) {
  const double largest = std::max(std::abs(range.low), std::abs(range.high));
  const double width = range.high - range.low;
  double power = std::pow(10.0, std::floor(std::log10(width / static_cast<double>(most))));
  for (int decade = 0; decade < 3; ++decade, power *= 10.0) {
    for (const double digit : {1.0, 2.0, 5.0}) {
      const std::vector<double> values = multiples(range, digit * power);
      if (values.empty() || values.size() > most) continue;
      std::vector<Tick> ticks;
      for (const double value : values) {
        ticks.push_back({value, number(value, digit * power, largest)});
      }
      return ticks;
    }
  }
  return {};
}

std::vector<Tick> log_ticks(const Range& range, std::size_t most) {
  const double first = std::floor(std::log10(range.low));
  const double last = std::ceil(std::log10(range.high));
  constexpr double kRounding = 1e-9;
  const auto add = [&](std::vector<Tick>& ticks, double value) {
    if (value >= range.low * (1.0 - kRounding) && value <= range.high * (1.0 + kRounding)) {
      ticks.push_back({value, decade_text(value)});
    }
  };
  std::vector<Tick> fine;
  for (double decade = first; decade <= last; decade += 1.0) {
    for (const double digit : {1.0, 2.0, 5.0}) add(fine, digit * std::pow(10.0, decade));
  }
  if (fine.size() < 2) {
    std::vector<Tick> linear = linear_ticks(range, most);
    std::erase_if(linear, [&](const Tick& tick) { return !(tick.at > 0.0); });
    return linear;
  }
  if (fine.size() <= most) return fine;
  for (double step = 1.0; step <= last - first + 1.0; step += 1.0) {
    std::vector<Tick> ticks;
    for (double decade = step * std::ceil(first / step); decade <= last; decade += step) {
      add(ticks, std::pow(10.0, decade));
    }
    if (ticks.size() <= most && !ticks.empty()) return ticks;
  }
  return {fine.front()};
}

std::vector<Tick> clock_ticks(const Range& seconds, std::size_t most) {
  constexpr double kShort = 5.0;
  const double width = seconds.high - seconds.low;
  if (width < kShort) return linear_ticks(seconds, most);
  double step = 1.0;
  for (const double next :
       {1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0}) {
    step = next;
    if (width / step < static_cast<double>(most)) break;
  }
  while (width / step >= static_cast<double>(most)) step *= 2.0;
  std::vector<Tick> ticks;
  for (const double value : multiples(seconds, step)) ticks.push_back({value, clock_text(value)});
  return ticks;
}

}  // namespace plunge
