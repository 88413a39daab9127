#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace wheeltapper::bench {

/// A number worked out from several readings, for a finding to be tested on. Its true value is spread as a mixture of
/// normal distributions: one part for each explanation that the readings leave open.
struct Figure {
  struct Part {
    double weight;  ///< above 0; those of a figure sum to 1
    double value;
    double uncertainty;  ///< standard, at least 0; 0: exactly this value
  };
  std::string id;
  std::vector<Part> parts;
  std::string said;  ///< what was found, for a person: "1.46 times the healthy figure"

  /// The chance that the true value is at or above the edge.
  double chance_above(double edge) const;
  double mean() const;
};

/// A figure without explanations that exclude each other.
Figure single(const std::string& id, double value, double uncertainty, std::string said);

/// Adds a figure; of two forms of one figure the one that shows more stays: the larger, or with `falling` the smaller.
/// What came of a division by nothing is no figure.
void put_figure(std::vector<Figure>& figures, Figure figure, bool falling = false);

/// A change from the first minutes to the last, as a share. \param what  "amps"
void put_drift(std::vector<Figure>& figures, const char* id, const char* what, double change, double uncertainty);

/// All figures that there are, for the catalogue to check findings against.
struct FigureKind {
  std::string_view id;
  std::string_view says;  ///< what it is, with its unit
};
std::span<const FigureKind> figure_kinds();

}  // namespace wheeltapper::bench
