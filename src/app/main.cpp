#include "app/cli.h"

int main(int argc, char** argv) { return lull::app::run(argc, argv); }
