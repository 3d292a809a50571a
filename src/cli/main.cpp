#include "cli/cli.h"

int main(int argc, char** argv) { return lull::cli::run(argc, argv); }
