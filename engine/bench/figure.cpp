#include "engine/bench/figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/measure/measurement.hpp"

namespace wheeltapper::bench {

double Figure::chance_above(double edge) const {
  double chance = 0;
  for (const Part& part : parts) {
    if (part.uncertainty > 0)
      chance += part.weight * measure::standard_cdf((part.value - edge) / part.uncertainty);
    else
      chance += part.value >= edge ? part.weight : 0;
  }
  return chance;
}

double Figure::mean() const {
  double sum = 0;
  for (const Part& part : parts) sum += part.weight * part.value;
  return sum;
}

Figure single(const std::string& id, double value, double uncertainty, std::string said) {
  return {id, {{1, value, uncertainty}}, std::move(said)};
}

void put_figure(std::vector<Figure>& figures, Figure figure, bool falling) {
  const auto is_number = [](const Figure::Part& part) {
    return std::isfinite(part.value) && std::isfinite(part.uncertainty);
  };
  if (!std::ranges::all_of(figure.parts, is_number)) return;
  const auto found = std::ranges::find(figures, figure.id, &Figure::id);
  if (found == figures.end())
    figures.push_back(std::move(figure));
  else if (falling ? figure.mean() < found->mean() : figure.mean() > found->mean())
    *found = std::move(figure);
}

void put_drift(std::vector<Figure>& figures, const char* id, const char* what, double change, double uncertainty) {
  put_figure(figures, single(id, change, uncertainty, fmt::format("{} {:+.0f} % as it warmed", what, 100 * change)));
}

std::span<const FigureKind> figure_kinds() {
  static constexpr std::array kKinds{
      FigureKind{"drag-ratio", "drag at the motor over the healthy figure"},
      FigureKind{"added-ohms-share", "ohms more in the motor's path, over the healthy volts per amp"},
      FigureKind{"flux-ratio", "flux of the motor over the healthy figure"},
      FigureKind{"drive-drag-ratio", "drag with the wheels off the track over the healthy figure"},
      FigureKind{"train-drag-ratio", "drag of the train over the healthy figure"},
      FigureKind{"parallel-amps-rise", "A more than healthy that never enter the motor"},
      FigureKind{"direction-ohms-share", "ohms more in one direction, over the volts per amp of the other"},
      FigureKind{"direction-drag-ratio", "drag in one direction over that in the other"},
      FigureKind{"slip-share", "motor amps loaded over those with the wheels spinning"},
      FigureKind{"amps-drift", "rise of the amps from the first minutes to the last, as a share"},
      FigureKind{"speed-drift", "rise of the laps from the first minutes to the last, as a share"},
      FigureKind{"droop-ratio", "speed lost from light to loaded over the healthy loss"},
      FigureKind{"lead-share", "volts that the leads lose by their gauge and length, over those at the rail"},
      FigureKind{"winding-over-class", "K of the winding above what its insulation stands"},
      FigureKind{"highest-volts",
                 "V, the most that a meter showed anywhere; left out where all are far below 42.4 V peak"},
      FigureKind{"lap-spot", "1 if the amps leave their course at one place each lap, else 0"},
      FigureKind{"turn-swing", "1 if the amps swing with the wheels, else 0"},
  };
  return kKinds;
}

}  // namespace wheeltapper::bench
