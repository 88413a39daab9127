#pragma once
#include <cstddef>
#include <cstdint>

// What is fuzzed. Each takes any bytes, aborts on what must not be, and returns 0.
int fuzz_case(const std::uint8_t* data, std::size_t size);
int fuzz_dialogue(const std::uint8_t* data, std::size_t size);
int fuzz_job(const std::uint8_t* data, std::size_t size);
int fuzz_knowledge(const std::uint8_t* data, std::size_t size);
int fuzz_lines(const std::uint8_t* data, std::size_t size);
int fuzz_pages(const std::uint8_t* data, std::size_t size);
int fuzz_reading(const std::uint8_t* data, std::size_t size);
int fuzz_series(const std::uint8_t* data, std::size_t size);
