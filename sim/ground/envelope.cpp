#include "sim/ground/envelope.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <functional>
#include <utility>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge {

namespace {

constexpr double kSliver = 1e-9;         // shortest run worth a piece [m]
constexpr double kOvershoot = 0.01;      // how far past a kink a path must stay sensible [m]
constexpr double kShortestPiece = 1e-7;  // no piece is split below this [m]
constexpr double kParabolaBelow = 1e-5;  // a piece shorter than this is a parabola if it fits [m]
constexpr double kCubicBelow = 2e-3;     // a piece shorter than this may be a cubic [m]

// A smooth part of the path.
struct Run {
  double begin = 0.0;
  double end = 0.0;
  double reach = 0.0;  // >= end: how far `at` goes on as smoothly
  int degree = 5;      // 1 and 2: a straight line or a parabola, exactly
  double grain = 0.0;  // longest piece to try
  std::function<PathPoint<double>(double)> at;
};

// Height and slope of both ends; for intervals too short for higher derivatives to carry meaning.
PathPiece cubic_between(double start, const PathPoint<double>& a, double end,
                        const PathPoint<double>& b) {
  const double d = end - start;
  const double chord = (b.height - a.height) / d;
  return {start,
          {a.height, a.slope, (3.0 * chord - 2.0 * a.slope - b.slope) / d,
           (a.slope + b.slope - 2.0 * chord) / (d * d), 0.0, 0.0}};
}

PathPiece parabola_between(double start, const PathPoint<double>& a, double end,
                           const PathPoint<double>& b) {
  return {start, {a.height, a.slope, 0.5 * (b.slope - a.slope) / (end - start), 0.0, 0.0, 0.0}};
}

// Joins runs, in order, into a path.
class PathBuilder {
 public:
  void add(const Run& run) {
    if (run.end - run.begin < kSliver) return;
    const double start = std::isfinite(run.begin) ? run.begin
                         : std::isfinite(run.end) ? run.end - 1.0
                                                  : 0.0;
    const PathPoint<double> first = run.at(start);
    if (!pieces_.empty() && std::abs(first.slope - last_slope_) > kLeastKink) {
      kinks_.push_back(pieces_.size());
    }
    if (run.degree > 2) {
      fit(run);
    } else if (!goes_on(start, first)) {
      const double half_curvature = run.degree == 1 ? 0.0 : 0.5 * first.curvature;
      pieces_.push_back({start, {first.height, first.slope, half_curvature, 0.0, 0.0, 0.0}});
    }
    last_slope_ = std::isfinite(run.end) ? run.at(run.end).slope : first.slope;
  }

  WheelPath path() { return WheelPath(std::move(pieces_), kinks_); }

 private:
  // Is the last piece the line or parabola that passes here?
  bool goes_on(double s, const PathPoint<double>& p) const {
    if (pieces_.empty()) return false;
    const PathPiece& last = pieces_.back();
    const PathPoint<double> q = WheelPath::evaluate(last, s);
    return last.c[3] == 0.0 && last.c[4] == 0.0 && last.c[5] == 0.0 && q.curvature == p.curvature &&
           std::abs(q.slope - p.slope) <= 1e-15 && std::abs(q.height - p.height) <= 1e-13;
  }

  // Does the piece leave its tangent at s so fast that a step which overshoots a kink there by
  // `by` would see nonsense? Some do where a hollow is all but as tight as the wheel.
  static bool wild(const PathPiece& piece, double s, double by) {
    const PathPoint<double> at = WheelPath::evaluate(piece, s);
    const PathPoint<double> beyond = WheelPath::evaluate(piece, s + by);
    return !(std::abs(beyond.height - at.height - by * at.slope) <= 5.0 * std::abs(by));
  }

  // How far from s towards `to` a parabola serves.
  static double parabola_length(const Run& run, double s, double to) {
    double length = std::min(1e-3, 0.25 * std::abs(to - s));
    for (; length > kShortestPiece; length *= 0.5) {
      const double e = s + std::copysign(length, to - s);
      const PathPoint<double> p = run.at(s);
      const PathPoint<double> q = run.at(e);
      const PathPoint<double> found = WheelPath::evaluate(parabola_between(s, p, e, q), e);
      const double middle = run.at(0.5 * (s + e)).slope - 0.5 * (p.slope + q.slope);
      if (std::abs(found.height - q.height) <= kFitHeight && std::abs(middle) <= kFitSlope) break;
    }
    return length;
  }

  // Pieces as long as the tolerances allow. The last may reach past the end of the run, so that the
  // path goes on smoothly where another run takes over.
  void fit(const Run& run) {
    const std::size_t first = pieces_.size();
    bool head = false;  // begin with a parabola
    bool tail = false;  // end with one
    while (true) {
      double begin = run.begin;
      double end = run.end;
      double reach = run.reach;
      if (head) {
        begin += parabola_length(run, run.begin, run.end);
        // One after the other: where a run looks next starts from where it looked last.
        const PathPoint<double> to = run.at(begin);
        const PathPoint<double> from = run.at(run.begin);
        pieces_.push_back(parabola_between(run.begin, from, begin, to));
      }
      if (tail) reach = end -= parabola_length(run, run.end, begin);
      march(run, begin, end, reach);
      if (tail) {
        const PathPoint<double> to = run.at(run.end);
        const PathPoint<double> from = run.at(end);
        pieces_.push_back(parabola_between(end, from, run.end, to));
      }
      const bool head_needed = head || wild(pieces_[first], run.begin, -kOvershoot);
      const bool tail_needed = tail || wild(pieces_.back(), run.end, kOvershoot);
      if (head_needed == head && tail_needed == tail) return;
      head = head_needed;
      tail = tail_needed;
      pieces_.resize(first);
    }
  }

  void march(const Run& run, double begin, double end, double reach) {
    double s = begin;
    PathPoint<double> p = run.at(s);
    double d = std::min(run.grain, reach - s);
    while (s < end) {
      const double left = reach - s;
      if (d >= left) {
        d = left;
      } else if (d > 0.5 * left) {
        d = 0.5 * left;
      }
      const double e = d == left ? reach : s + d;
      const PathPoint<double> q = run.at(e);
      PathPiece piece;
      const double miss = best_piece(run, s, p, e, q, piece);
      if (miss > 1.0) {
        d *= std::max(0.2, 0.9 * std::pow(miss, -0.2));
        continue;
      }
      pieces_.push_back(piece);
      s = e;
      p = q;
      d = std::min(run.grain, d * std::min(3.0, 0.9 * std::pow(std::max(miss, 1e-4), -0.2)));
    }
  }

  // The piece between p at s and q at e, and its error in units of the tolerance.
  static double best_piece(const Run& run, double s, const PathPoint<double>& p, double e,
                           const PathPoint<double>& q, PathPiece& piece) {
    const double d = e - s;
    if (d < kParabolaBelow) {
      piece = parabola_between(s, p, e, q);
      const double gap = std::abs(WheelPath::evaluate(piece, e).height - q.height);
      if (gap <= 0.1 * kFitHeight || d < kShortestPiece) return 0.0;
    }
    // The middle, and where a quintic's slope errs most.
    const double quarter = 0.5 * d * (1.0 - std::sqrt(0.2));
    const double places[] = {s + quarter, s + 0.5 * d, e - quarter};
    const PathPoint<double> wanted[] = {run.at(places[0]), run.at(places[1]), run.at(places[2])};
    const auto miss = [&] {
      double ratio = 0.0;
      for (int i = 0; i < 3; ++i) {
        const PathPoint<double> found = WheelPath::evaluate(piece, places[i]);
        ratio = std::max({ratio, std::abs(found.height - wanted[i].height) / kFitHeight,
                          std::abs(found.slope - wanted[i].slope) / kFitSlope});
      }
      return std::isfinite(ratio) ? ratio : 1e6;
    };
    if (d < kCubicBelow) {
      piece = cubic_between(s, p, e, q);
      if (const double cubic_miss = miss(); cubic_miss <= 1.0) return cubic_miss;
    }
    piece = quintic_between(s, p, e, q);
    return miss();
  }

  std::vector<PathPiece> pieces_;
  std::vector<std::size_t> kinks_;
  double last_slope_ = 0.0;
};

// The wheel's round.
class Circle {
 public:
  Circle(double radius, double steepest)
      : radius_(radius),
        steepest_(steepest),
        cap_(radius * steepest / std::sqrt(1.0 + steepest * steepest)) {}

  double radius() const { return radius_; }
  double steepest() const { return steepest_; }
  // Half width of the round part.
  double cap() const { return cap_; }

  // f, f' and f'' at u.
  PathPoint<double> outline(double u) const {
    const double round = std::clamp(u, -cap_, cap_);
    const double r = std::sqrt(radius_ * radius_ - round * round);
    const double height = -round * round / (r + radius_);
    if (round != u) {
      const double slope = u > 0.0 ? -steepest_ : steepest_;
      return {height + slope * (u - round), slope, 0.0};
    }
    return {height, -u / r, -radius_ * radius_ / (r * r * r)};
  }

  // Path of the centre about a point of height y at distance c.
  PathPoint<double> about(double c, double y, double s) const {
    const PathPoint<double> f = outline(c - s);
    return {y + f.height, -f.slope, f.curvature};
  }

  // How far ahead of the centre ground of slope m is touched.
  double ahead(double m) const { return radius_ * m / std::sqrt(1.0 + m * m); }

  // ds/dc: advance of the centre per advance of the contact.
  double advance(const PathPoint<double>& y) const {
    const double w = 1.0 + y.slope * y.slope;
    return 1.0 - radius_ * y.curvature / (w * std::sqrt(w));
  }

  // Can it touch ground that looks like this? A hollow of just the wheel's own radius is left
  // out: there all of it is touched at once, and its ends stand for it.
  bool touches(const PathPoint<double>& y) const {
    return std::abs(y.slope) <= steepest_ && advance(y) > 1e-6;
  }

 private:
  double radius_;
  double steepest_;
  double cap_;
};

// A part of the ground that the circle touches one point after another, or a single point
// (curve == nullptr, a == b).
struct Contact {
  const GroundCurve* curve = nullptr;
  double a = 0.0;
  double b = 0.0;
  double height_a = 0.0;
  double height_b = 0.0;
  double s_a = 0.0;  // centre when contact is at a
  double s_b = 0.0;
};

Contact make_contact(const GroundCurve& curve, double a, double b, const Circle& circle) {
  Contact contact{&curve, a, b, 0.0, 0.0, a, b};
  if (std::isfinite(a)) {
    const PathPoint<double> y = curve.at(a);
    contact.height_a = y.height;
    contact.s_a = a - circle.ahead(y.slope);
  }
  if (std::isfinite(b)) {
    const PathPoint<double> y = curve.at(b);
    contact.height_b = y.height;
    contact.s_b = b - circle.ahead(y.slope);
  }
  return contact;
}

// Where touching begins or ends between a place that the circle touches and one that it does not,
// on the touched side.
//
// Where a hollow becomes as tight as the circle the advance goes to 0, say as g (c - c0), and the
// curvature of the path to infinity. Such ends are all but always hidden under the envelope. The
// last bit is left out, and the wheel pivots about its end instead: over a length w of ground that
// changes the height by about g w^3/(2 R), which is kept to kHidden.
double touch_limit(const GroundCurve& curve, const Circle& circle, double touched,
                   double not_touched) {
  constexpr double kHidden = 1e-9;  // [m]
  constexpr double kProbe = 1e-5;   // [m]
  const double inward = std::copysign(1.0, touched - not_touched);
  for (int i = 0; i < 40; ++i) {
    const double middle = 0.5 * (touched + not_touched);
    (circle.touches(curve.at(middle)) ? touched : not_touched) = middle;
  }
  const double advance = circle.advance(curve.at(touched));
  if (advance > 0.01) return touched;  // it was too steep there, not too tight
  const double g = (circle.advance(curve.at(touched + inward * kProbe)) - advance) / kProbe;
  return touched + inward * std::cbrt(2.0 * kHidden * circle.radius() / std::max(g, 1.0));
}

// Where a function with one minimum in [low, high] is least, by golden section.
template <class Function>
double least(double low, double high, Function value) {
  constexpr double kGolden = 0.6180339887498949;
  double left = high - kGolden * (high - low);
  double right = low + kGolden * (high - low);
  double value_left = value(left);
  double value_right = value(right);
  for (int i = 0; i < 30; ++i) {
    if (value_left < value_right) {
      high = right;
      right = left;
      value_right = value_left;
      left = high - kGolden * (high - low);
      value_left = value(left);
    } else {
      low = left;
      left = right;
      value_left = value_right;
      right = low + kGolden * (high - low);
      value_right = value(right);
    }
  }
  return 0.5 * (low + high);
}

// The curve's samples, and more of them where the advance may pass 0 and changes fast, there or in
// the next cell.
std::vector<double> fine_samples(const GroundCurve& curve, const Circle& circle) {
  constexpr double kChange = 0.5;  // of the advance between two places
  constexpr double kMostParts = 256.0;
  const std::vector<double> samples = curve.samples();
  std::vector<double> advance;
  advance.reserve(samples.size());
  for (const double s : samples) advance.push_back(circle.advance(curve.at(s)));

  std::vector<double> fine;
  fine.reserve(samples.size());
  const std::size_t cells = samples.size() - 1;
  for (std::size_t i = 0; i < cells; ++i) {
    double change = 0.0;
    for (std::size_t k = i > 0 ? i - 1 : i; k < std::min(i + 2, cells); ++k) {
      change = std::max(change, std::abs(advance[k + 1] - advance[k]));
    }
    fine.push_back(samples[i]);
    if (change > kChange && std::min(std::abs(advance[i]), std::abs(advance[i + 1])) < change) {
      const double parts = std::min(kMostParts, std::ceil(change / kChange));
      const double part = (samples[i + 1] - samples[i]) / parts;
      for (double k = 1.0; k < parts; ++k) fine.push_back(samples[i] + k * part);
    }
  }
  fine.push_back(samples.back());
  return fine;
}

// Places on the curve such that between two that the circle touches it touches everything, and
// between two that it does not, nothing: samples, and, where between them the advance may just
// reach to the other side of 0, that place.
std::vector<double> contact_places(const GroundCurve& curve, const Circle& circle) {
  const std::vector<double> samples = fine_samples(curve, circle);
  std::vector<double> advance;
  advance.reserve(samples.size());
  for (const double s : samples) advance.push_back(circle.advance(curve.at(s)));

  std::vector<double> places;
  places.reserve(samples.size());
  const std::size_t last = samples.size() - 1;
  for (std::size_t i = 0; i <= last; ++i) {
    const std::size_t back = i > 0 ? i - 1 : i;
    const std::size_t on = i < last ? i + 1 : i;
    const double sign = advance[i] > 0.0 ? 1.0 : -1.0;
    const double here = sign * advance[i];
    const double before = sign * advance[back] - here;
    const double after = sign * advance[on] - here;
    double extreme = samples[i];
    // A parabola's extreme between samples is beyond the nearest by an eighth of its second
    // difference, which the changes nearby exceed.
    double change = 0.0;
    for (std::size_t k = i < 2 ? 0 : i - 2; k < std::min(i + 2, last); ++k) {
      change = std::max(change, std::abs(advance[k + 1] - advance[k]));
    }
    if (before >= 0.0 && (after > 0.0 || i == last) && here < 0.25 * change) {
      const double place = least(samples[back], samples[on],
                                 [&](double s) { return sign * circle.advance(curve.at(s)); });
      if (circle.touches(curve.at(place)) != circle.touches(curve.at(samples[i]))) extreme = place;
    }
    if (extreme < samples[i]) places.push_back(extreme);
    places.push_back(samples[i]);
    if (extreme > samples[i]) places.push_back(extreme);
  }
  return places;
}

// The contacts of one curve.
void add_contacts(const GroundCurve& curve, const Circle& circle, std::vector<Contact>& contacts) {
  if (curve.straight()) {
    const double anywhere = std::isfinite(curve.begin()) ? curve.begin()
                            : std::isfinite(curve.end()) ? curve.end()
                                                         : 0.0;
    if (circle.touches(curve.at(anywhere))) {
      contacts.push_back(make_contact(curve, curve.begin(), curve.end(), circle));
    }
    return;
  }
  const std::vector<double> places = contact_places(curve, circle);
  bool open = false;
  double begin = 0.0;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const bool touched = circle.touches(curve.at(places[i]));
    if (touched && !open) {
      begin = i == 0 ? places[0] : touch_limit(curve, circle, places[i], places[i - 1]);
    } else if (!touched && open) {
      const double end = touch_limit(curve, circle, places[i - 1], places[i]);
      if (begin < end) {
        contacts.push_back(make_contact(curve, begin, end, circle));
      } else {
        const double c = std::clamp(0.5 * (begin + end), curve.begin(), curve.end());
        const double y = curve.at(c).height;
        contacts.push_back({nullptr, c, c, y, y, c, c});
      }
    }
    open = touched;
  }
  if (open && begin < places.back()) {
    contacts.push_back(make_contact(curve, begin, places.back(), circle));
  }
}

// All contacts of the ground from left to right: curves, and the edges between them.
std::vector<Contact> find_contacts(const GroundCurves& ground, const Circle& circle) {
  constexpr double kSameHeight = 1e-12;
  constexpr double kSameSlope = 1e-12;
  std::vector<Contact> contacts;
  std::vector<Contact> next;
  for (std::size_t i = 0; i < ground.size(); ++i) {
    next.clear();
    add_contacts(*ground[i], circle, next);
    if (i > 0) {
      const double x = ground[i]->begin();
      const PathPoint<double> before = ground[i - 1]->at(x);
      const PathPoint<double> after = ground[i]->at(x);
      const bool reached = !contacts.empty() && contacts.back().curve && contacts.back().b == x;
      const bool left = !next.empty() && next.front().a == x;
      const bool smooth_or_hollow = reached && left &&
                                    std::abs(before.height - after.height) <= kSameHeight &&
                                    after.slope >= before.slope - kSameSlope;
      if (!smooth_or_hollow) {
        const double y = std::max(before.height, after.height);
        contacts.push_back({nullptr, x, x, y, y, x, x});
      }
    }
    contacts.insert(contacts.end(), next.begin(), next.end());
  }
  return contacts;
}

// Newton's method may go round in a circle inside its bracket. From a few steps on every other one
// halves the bracket instead.
bool halves(int step) { return step >= 8 && step % 2 == 0; }

// The path that the circle would take if this contact were all the ground there is.
class Follower {
 public:
  Follower(const Contact& contact, const Circle& circle)
      : contact_(&contact), circle_(&circle), c_(contact.a), s_(contact.s_a) {
    if (!std::isfinite(contact.a)) {
      c_ = std::isfinite(contact.b) ? contact.b : 0.0;
      s_ = c_;
    }
  }

  PathPoint<double> at(double s) {
    if (!contact_->curve) return circle_->about(contact_->a, contact_->height_a, s);
    if (s < contact_->s_a) return circle_->about(contact_->a, contact_->height_a, s);
    if (s > contact_->s_b) return circle_->about(contact_->b, contact_->height_b, s);
    return touching(s);
  }

  // At s between s_a and s_b.
  PathPoint<double> touching(double s) {
    double low = contact_->a;
    double high = contact_->b;
    double c = std::clamp(c_ + (s - s_) / advance_, low, high);
    for (int i = 0;; ++i) {
      const PathPoint<double> y = contact_->curve->at(c);
      const double advance = circle_->advance(y);
      const double ahead = c - circle_->ahead(y.slope) - s;
      (ahead > 0.0 ? high : low) = c;
      double next = c - ahead / advance;
      if (!(next >= low && next <= high) || halves(i)) next = 0.5 * (low + high);
      const double step = next - c;
      if (std::abs(step) <= 1e-8 || i == kMostSteps) {
        c_ = c;
        s_ = s + ahead;
        advance_ = advance;
        // To first order in the step: the height does not change where the contact moves.
        return {y.height + circle_->outline(c - s).height, y.slope + y.curvature * step,
                y.curvature / advance};
      }
      c = next;
    }
  }

 private:
  static constexpr int kMostSteps = 200;
  const Contact* contact_;
  const Circle* circle_;
  // The contact of the last call, the centre there and ds/dc, to begin the next from.
  double c_;
  double s_;
  double advance_ = 1.0;
};

// A contact and the place from which on its path is the uppermost.
struct Leader {
  std::size_t contact = 0;
  double from = 0.0;
};

enum class Verdict { takes_over, always, never };

struct Handover {
  Verdict verdict = Verdict::takes_over;
  double at = 0.0;
};

// When does `right` take over from `left`, which leads since `from`? Always: already there. Their
// difference left - right never rises with s.
Handover hand_over(const Contact& left, const Contact& right, double from, const Circle& circle) {
  const auto taking_over = [&](double at) {
    return at > from ? Handover{Verdict::takes_over, at} : Handover{Verdict::always, from};
  };
  if (left.b == right.a && std::abs(left.height_b - right.height_a) <= 1e-12) {
    if (!left.curve) return taking_over(right.s_a);
    if (!right.curve || left.s_b <= right.s_a) return taking_over(left.s_b);
  }
  const double m = circle.steepest();
  if (std::isfinite(right.b) &&
      left.height_b + m * left.b >= right.height_b + m * right.b - 1e-12) {
    return {Verdict::never, 0.0};  // in the shadow of the left one's last tangent
  }

  Follower follow_left(left, circle);
  Follower follow_right(right, circle);
  double slope = 0.0;  // of the difference, at the last place asked
  const auto difference = [&](double s) {
    const PathPoint<double> p = follow_left.at(s);
    const PathPoint<double> q = follow_right.at(s);
    slope = p.slope - q.slope;
    return p.height - q.height;
  };
  double low = from;
  double reach = circle.radius();
  if (std::isfinite(low)) {
    if (difference(low) <= 0.0) return {Verdict::always, from};
  } else {
    low = std::min(left.s_b, right.s_a) - reach;
    while (difference(low) <= 0.0) low -= reach *= 2.0;
  }
  double high = std::max(low, left.s_b);
  reach = 0.1 * circle.radius();
  while (difference(high) > 0.0) {
    low = high;
    high += reach *= 2.0;
  }
  double s = high;
  for (int i = 0; i < 200 && high - low > 1e-13 * (1.0 + std::abs(s)); ++i) {
    const double gap = difference(s);
    (gap > 0.0 ? low : high) = s;
    const double next = s - gap / slope;
    const bool inside = next > low && next < high;
    if (inside && std::abs(next - s) <= 1e-14 * (1.0 + std::abs(s))) break;
    s = inside && !halves(i) ? next : 0.5 * (low + high);
  }
  return taking_over(s);
}

std::vector<Leader> find_leaders(const std::vector<Contact>& contacts, const Circle& circle) {
  std::vector<Leader> leaders{{0, -kInfinity}};
  for (std::size_t j = 1; j < contacts.size(); ++j) {
    while (true) {
      const Leader& last = leaders.back();
      const Handover handover = hand_over(contacts[last.contact], contacts[j], last.from, circle);
      if (handover.verdict == Verdict::always && leaders.size() > 1) {
        leaders.pop_back();
        continue;
      }
      if (handover.verdict != Verdict::never) leaders.push_back({j, handover.at});
      break;
    }
  }
  return leaders;
}

// Adds what a leader contributes between two places: straight, round, touching, round, straight.
void add_leader(const Contact& contact, double from, double to, const Circle& circle,
                PathBuilder& builder) {
  Follower follower(contact, circle);
  const auto add = [&](double begin, double end, int degree, double grain, auto at) {
    const double first = std::max(begin, from);
    const double last = std::min(end, to);
    if (first < last) builder.add({first, last, end, degree, grain, at});
  };
  const auto about_a = [&](double s) { return circle.about(contact.a, contact.height_a, s); };
  const auto about_b = [&](double s) { return circle.about(contact.b, contact.height_b, s); };
  const double grain = 0.25 * circle.radius();
  const double round_from = contact.a - circle.cap();
  const double round_to = contact.b + circle.cap();

  add(-kInfinity, round_from, 1, grain, about_a);
  if (contact.curve) {
    const GroundCurve& curve = *contact.curve;
    add(round_from, contact.s_a, 5, grain, about_a);
    add(contact.s_a, contact.s_b, curve.straight() ? 1 : 5, curve.grain(),
        [&](double s) { return follower.touching(s); });
    add(contact.s_b, round_to, 5, grain, about_b);
  } else {
    add(round_from, round_to, 5, grain, about_a);
  }
  add(round_to, kInfinity, 1, grain, about_b);
}

// Mean height over a window whose ends lie on two curves of the ground.
struct Window {
  const GroundCurve* back = nullptr;
  const GroundCurve* front = nullptr;
  double between = 0.0;  // area under the curves between those two [m2]
  double length = 0.0;

  PathPoint<double> at(double s) const {
    const double from = s - 0.5 * length;
    const double to = s + 0.5 * length;
    const double area =
        back == front ? front->area(from, to)
                      : back->area(from, back->end()) + between + front->area(front->begin(), to);
    const PathPoint<double> p = back->at(from);
    const PathPoint<double> q = front->at(to);
    return {area / length, (q.height - p.height) / length, (q.slope - p.slope) / length};
  }
};

}  // namespace

WheelPath circle_path(const GroundCurves& ground, double radius, double steepest) {
  const Circle circle(radius, steepest);
  const std::vector<Contact> contacts = find_contacts(ground, circle);
  const std::vector<Leader> leaders = find_leaders(contacts, circle);
  PathBuilder builder;
  for (std::size_t i = 0; i < leaders.size(); ++i) {
    const double to = i + 1 < leaders.size() ? leaders[i + 1].from : kInfinity;
    add_leader(contacts[leaders[i].contact], leaders[i].from, to, circle, builder);
  }
  return builder.path();
}

WheelPath point_path(const GroundCurves& ground) {
  PathBuilder builder;
  for (const auto& curve : ground) {
    builder.add({curve->begin(), curve->end(), curve->end(), curve->straight() ? 1 : 5,
                 curve->grain(), [&](double s) { return curve->at(s); }});
  }
  return builder.path();
}

WheelPath average_path(const GroundCurves& ground, double length) {
  std::vector<double> area_before(ground.size(), 0.0);  // from the end of the first curve on
  for (std::size_t i = 2; i < ground.size(); ++i) {
    const GroundCurve& curve = *ground[i - 1];
    area_before[i] = area_before[i - 1] + curve.area(curve.begin(), curve.end());
  }

  // A run ends where either end of the window reaches the end of its curve.
  PathBuilder builder;
  std::size_t back = 0;
  std::size_t front = 0;
  double begin = -kInfinity;
  while (true) {
    const double back_leaves = ground[back]->end() + 0.5 * length;
    const double front_leaves = ground[front]->end() - 0.5 * length;
    const double end = std::min(back_leaves, front_leaves);
    const GroundCurve& b = *ground[back];
    const GroundCurve& f = *ground[front];
    const double between = back < front ? area_before[front] - area_before[back + 1] : 0.0;
    const Window window{&b, &f, between, length};
    const int degree = !b.straight() || !f.straight() ? 5 : back == front ? 1 : 2;
    builder.add({begin, end, end, degree, std::min(b.grain(), f.grain()),
                 [window](double s) { return window.at(s); }});
    if (!std::isfinite(end)) break;
    if (back_leaves - end < kSliver) ++back;
    if (front_leaves - end < kSliver) ++front;
    begin = end;
  }
  return builder.path();
}

}  // namespace plunge
