#pragma once
#include <span>

#include "engine/learn/learn.hpp"

namespace wheeltapper::learn {

/// The knowledge with the learned means in it: chances, rates (as they are, so that no factor is left to scale them
/// by), and monotone levels. Numbers that nothing is known of stay, and those that a family has of its own.
catalogue::Items apply(const catalogue::Items& items, std::span<const Parameter> parameters);

}  // namespace wheeltapper::learn
