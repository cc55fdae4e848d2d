// The numbers of a quarter rider: one lane's among many.
//
// Which numbers there are is read off the structs of models/laws themselves: a member that is a
// scalar or a Divisor is a number, a member that is a law is gone through in its turn, and whether
// a part is there at all (bool) and the tabled laws (LawTable) are no numbers. So a number that a
// law gains is every lane's own at once.
#pragma once

#include <array>
#include <cstddef>
#include <type_traits>

#include "models/laws/quarter_rider.hpp"

namespace plunge {

// Stands for any member while members are counted. A Divisor is made from its value.
struct AnyMember {
  template <class T>
  requires(!std::is_same_v<T, Divisor<float>>) operator T() const;
};

template <class T>
struct LawOf;
template <template <class> class Law, class S>
struct LawOf<Law<S>> {
  using Scalar = S;

  // How many members the law has: as many as it can be initialized from, counted on Law<float>, as
  // they are equally many for every scalar.
  template <class... Members>
  static consteval std::size_t member_count() {
    static_assert(std::is_aggregate_v<Law<float>>, "a law is a plain struct");
    if constexpr (requires { Law<float>{Members{}..., AnyMember{}}; }) {
      return member_count<Members..., AnyMember>();
    } else {
      return sizeof...(Members);
    }
  }
};

// Calls f(number) for every number of a law, const or not, in the order of its members.
template <class Law, class F>
constexpr void each_number(Law& law, const F& f);

template <class S, class Member, class F>
constexpr void each_number_in_member(Member& member, const F& f) {
  using Plain = std::remove_const_t<Member>;
  if constexpr (std::is_same_v<Plain, S> || std::is_same_v<Plain, Divisor<S>>) {
    f(member);
  } else if constexpr (!std::is_same_v<Plain, bool> && !std::is_same_v<Plain, LawTable<S>>) {
    each_number(member, f);
  }
}

template <class Law, class F>
constexpr void each_number(Law& law, const F& f) {
  using Traits = LawOf<std::remove_const_t<Law>>;
  constexpr std::size_t kMembers = Traits::template member_count<>();
  const auto each = [&f](auto&... members) {
    (each_number_in_member<typename Traits::Scalar>(members, f), ...);
  };
  if constexpr (kMembers == 2) {
    auto& [a, b] = law;
    each(a, b);
  } else if constexpr (kMembers == 3) {
    auto& [a, b, c] = law;
    each(a, b, c);
  } else if constexpr (kMembers == 4) {
    auto& [a, b, c, d] = law;
    each(a, b, c, d);
  } else if constexpr (kMembers == 5) {
    auto& [a, b, c, d, e] = law;
    each(a, b, c, d, e);
  } else if constexpr (kMembers == 9) {
    auto& [a, b, c, d, e, g, h, i, j] = law;
    each(a, b, c, d, e, g, h, i, j);
  } else if constexpr (kMembers == 12) {
    auto& [a, b, c, d, e, g, h, i, j, k, l, m] = law;
    each(a, b, c, d, e, g, h, i, j, k, l, m);
  } else {
    static_assert(kMembers == 26, "a law with so many members: add a branch");
    auto& [a, b, c, d, e, g, h, i, j, k, l, m, n, o, p, q, r, s, t, u, v, w, x, y, z, aa] = law;
    each(a, b, c, d, e, g, h, i, j, k, l, m, n, o, p, q, r, s, t, u, v, w, x, y, z, aa);
  }
}

inline constexpr std::size_t kRiderNumbers = [] {
  QuarterRider<float> rider;
  std::size_t count = 0;
  each_number(rider, [&count](auto&) { ++count; });
  return count;
}();
using RiderNumbers = std::array<double, kRiderNumbers>;

// Lane l of the riders in lanes has these numbers from now on.
template <class S>
void put_numbers(QuarterRider<S>& lanes, std::size_t l, const RiderNumbers& numbers) {
  const double* next = numbers.data();
  each_number(lanes, [&](auto& number) {
    typename S::Real row[S::kSize];
    const S before = number;
    before.store(row);
    row[l] = static_cast<typename S::Real>(*next++);
    number = S::load(row);
  });
}

}  // namespace plunge
