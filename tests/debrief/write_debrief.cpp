// `stonecall debrief` without the rest of the program, so that it can be tested where there is no
// window: write_debrief LOG REPORT CSV GEOJSON [BESIDE].
#include <iostream>

#include "console/commands/debrief.hpp"

int main(int argc, char** argv) {
  if (argc != 5 && argc != 6) return 2;
  return stonecall::commands::debrief(
      {argv[1], argv[2], argv[3], argv[4], argc == 6 ? argv[5] : ""}, std::cerr);
}
