// The smooth curves that ground is made of: height, slope and curvature at any distance.
//
//   y(s)  height of the ground [m], y' slope [1], y'' curvature of the graph [1/m]
//
// A curve serves [begin, end] and may be evaluated a little outside. Ground is a chain of curves,
// each beginning where the one before it ends; heights may differ there (a vertical face).
//   LineCurve    y0 + m (s - s0)
//   SineCurve    y0 + H sin(pi (s - begin)/l)
//   CosineCurve  y0 + H/2 (1 - cos(2 pi (s - begin)/l))
//   ArcCurve     a circle of radius r, its crest or its lowest point at (s0, y0)
//   PieceCurve   one polynomial
//   NodeCurve    quintics between evenly spaced nodes of given height, slope and curvature
//
// Not here: how features become curves (terrain.hpp), how a wheel follows them (envelope.hpp).
#pragma once

#include <cstddef>
#include <memory>
#include <vector>

#include "sim/ground/wheel_path.hpp"

namespace plunge {

class GroundCurve {
 public:
  GroundCurve(double begin, double end) : begin_(begin), end_(end) {}
  virtual ~GroundCurve() = default;

  double begin() const { return begin_; }
  double end() const { return end_; }

  virtual PathPoint<double> at(double s) const = 0;

  // The integral of y over [from, to] [m2].
  virtual double area(double from, double to) const = 0;

  // Distances from begin to end, close enough that slope and curvature rise or fall but once
  // between two of them. Only for curves of finite length.
  virtual std::vector<double> samples() const;

  // The longest distance that a single polynomial may be tried on [m].
  virtual double grain() const { return 0.125 * (end_ - begin_); }

  virtual bool straight() const { return false; }

 private:
  double begin_;
  double end_;
};

// begin may be -inf, end +inf.
class LineCurve : public GroundCurve {
 public:
  LineCurve(double begin, double end, double s0, double y0, double slope)
      : GroundCurve(begin, end), s0_(s0), y0_(y0), slope_(slope) {}
  PathPoint<double> at(double s) const override { return {y0_ + slope_ * (s - s0_), slope_, 0.0}; }
  double area(double from, double to) const override {
    return (to - from) * (y0_ + slope_ * (0.5 * (from + to) - s0_));
  }
  std::vector<double> samples() const override { return {begin(), end()}; }
  bool straight() const override { return true; }

 private:
  double s0_;
  double y0_;
  double slope_;
};

class SineCurve : public GroundCurve {
 public:
  SineCurve(double begin, double length, double y0, double height);
  PathPoint<double> at(double s) const override;
  double area(double from, double to) const override;

 private:
  double y0_;
  double height_;
  double k_;  // pi/l [1/m]
};

class CosineCurve : public GroundCurve {
 public:
  CosineCurve(double begin, double length, double y0, double height);
  PathPoint<double> at(double s) const override;
  double area(double from, double to) const override;

 private:
  double y0_;
  double height_;
  double k_;  // 2 pi/l [1/m]
};

// Part of a circle, at most to where it stands upright; the slope there reads 1e6.
class ArcCurve : public GroundCurve {
 public:
  // radius > 0: a crest at (s0, y0); radius < 0: a hollow, its lowest point there.
  ArcCurve(double begin, double end, double s0, double y0, double radius);
  PathPoint<double> at(double s) const override;
  double area(double from, double to) const override;

 private:
  double s0_;
  double y0_;
  double radius_;  // signed [m]
};

class PieceCurve : public GroundCurve {
 public:
  PieceCurve(const PathPiece& piece, double end) : GroundCurve(piece.start, end), piece_(piece) {}
  PathPoint<double> at(double s) const override { return WheelPath::evaluate(piece_, s); }
  double area(double from, double to) const override;
  std::vector<double> samples() const override;
  double grain() const override { return end() - begin(); }

 private:
  PathPiece piece_;
};

class NodeCurve : public GroundCurve {
 public:
  // Nodes `step` apart from begin on; y0 is added to every height.
  NodeCurve(double begin, double y0, double step, std::vector<PathPoint<double>> nodes);
  PathPoint<double> at(double s) const override;
  double area(double from, double to) const override;
  std::vector<double> samples() const override;
  double grain() const override;

 private:
  void sum_areas();
  double place(std::size_t node) const;
  std::size_t cell(double s) const;
  PathPiece piece(std::size_t cell) const;

  double y0_;
  double step_;
  double per_step_;
  std::vector<PathPoint<double>> nodes_;
  std::vector<double> area_;  // from the first node to each, without y0
};

using GroundCurves = std::vector<std::unique_ptr<const GroundCurve>>;

// The C2 cubic through the given points whose curvature is 0 at both ends (natural spline): height,
// slope and curvature at each.
std::vector<PathPoint<double>> natural_spline(const std::vector<double>& distance,
                                              const std::vector<double>& height);

}  // namespace plunge
